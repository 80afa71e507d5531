"""A constructive first plan in milliseconds: serial generation by several rules, the best of them kept."""

from dataclasses import replace

from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.patience import OutOfPatience, Patience
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, score, terms
from orchestrator.planner.wishes import Rule

RULES: tuple[Rule, ...] = (
    "backwards, latest first",
    "backwards, by due",
    "backwards, allergens last",
    "forwards, as late as good",
    "forwards, earliest",
)
"""Tried in this order; of equals the first is kept."""
LARGE = 1000
"""From so many jobs on one rule must do, where it meets every order: each takes a second, and what it leaves late or
outside a quality window is what search mends first."""
HASTY: tuple[tuple[Rule, bool], ...] = (
    ("forwards, earliest", False),
    ("backwards, by due", True),
    ("backwards, allergens last", False),
    ("backwards, by due", False),
)
"""With whether crowded minutes are given from the start: in this order where somebody waits. In 287 disturbed states
of the example and of the larger kitchen the first three had been best most often; the last leaves out fewest orders."""
RULE_LOOKS, RULE_S = 150, 0.02
"""About what half a rule takes at 20 batches."""
RULE_COSTS = 40
"""In looks, what a rule takes before its first."""
_PLENTY = 10**9
LARGE_RULES: tuple[Rule, ...] = ("backwards, by due", "backwards, allergens last", "forwards, earliest")


def first_guess(problem: Problem, patience: Patience | None = None) -> Schedule:
    """A schedule that keeps every safety window and every limit of machines and people.

    Args:
        problem: What is to be placed.
        patience: Of whoever waits for it: no further rule is begun that there is not about enough left for.

    Returns:
        The best of one schedule per rule, by the staged goals; of a large problem, of as few rules as will do. Orders
        that cannot be met within the horizon and the safety windows have no places.

    Raises:
        OutOfPatience: before the first rule had been carried out.
    """
    if patience is not None:
        return _in_haste(problem, patience)
    found = _by_rules(problem, careful=False)
    worth = found[0]
    if (worth.unmet or worth.breaks or worth.late) and any(job.crowded for job in problem.jobs):
        # Batches that keep a freezer to themselves hold the others up.
        found = min(found, _by_rules(problem, careful=True), key=lambda one: one[0])
    return replace(found[1], terms=terms(problem, found[1]))


def _in_haste(problem: Problem, patience: Patience) -> Schedule:
    """The best of as many rules as there is patience for, those first that most often were."""
    best: tuple[Score, Schedule] | None = None
    crowded = any(job.crowded for job in problem.jobs)
    rules = ((rule, careful) for rule, careful in HASTY if crowded or not careful)
    for rule, careful in rules:
        if not patience.lasts(RULE_LOOKS, RULE_S):
            break
        # Half a guess is worth nothing: what is begun is finished, and counted.
        counted = Patience(looks=_PLENTY)
        guess = generate(problem, network(problem), rule, careful=careful, patience=counted)
        patience.looks -= RULE_COSTS + _PLENTY - counted.looks
        worth = score(problem, guess)
        if best is None or worth < best[0]:
            best = worth, guess
    if best is None:
        raise OutOfPatience
    return replace(best[1], terms=terms(problem, best[1]))


def _by_rules(problem: Problem, *, careful: bool) -> tuple[Score, Schedule]:
    large = len(problem.jobs) >= LARGE
    guesses: list[tuple[Score, int, Schedule]] = []
    for number, rule in enumerate(LARGE_RULES if large else RULES):
        guess = generate(problem, network(problem), rule, careful=careful)
        worth = score(problem, guess)
        guesses.append((worth, number, guess))
        if large and not worth.unmet:
            break
    worth, _, best = min(guesses)
    return worth, best
