"""A constructive first plan in milliseconds: serial generation by several rules, the best of them kept."""

from dataclasses import replace

from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
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
LARGE_RULES: tuple[Rule, ...] = ("backwards, by due", "backwards, allergens last", "forwards, earliest")


def first_guess(problem: Problem) -> Schedule:
    """A schedule that keeps every safety window and every limit of machines and people.

    Args:
        problem: What is to be placed.

    Returns:
        The best of one schedule per rule, by the staged goals; of a large problem, of as few rules as will do. Orders
        that cannot be met within the horizon and the safety windows have no places.
    """
    found = _by_rules(problem, careful=False)
    worth = found[0]
    if (worth.unmet or worth.breaks or worth.late) and any(job.crowded for job in problem.jobs):
        # Batches that keep a freezer to themselves hold the others up.
        found = min(found, _by_rules(problem, careful=True), key=lambda one: one[0])
    return replace(found[1], terms=terms(problem, found[1]))


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
