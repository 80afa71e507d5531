"""A new plan close to the one before: what can stay stays, the rest is re-inserted in order of time."""

from dataclasses import replace

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.generation import generate
from orchestrator.planner.greedy import Search
from orchestrator.planner.imminent import hold_imminent
from orchestrator.planner.lags import network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, score, terms

WORTH_MOVING_MIN = 60
"""So many weighted minutes of lateness must be saved before a fresh plan replaces one that moves little."""
TRIALS = 70
"""Of greedy search around what a repair leaves late: less than two tenths of a second at 20 batches. A count, not a
time: the same facts get the same repair."""
CALM_TRIALS = 25
"""Of those, when no order is late and no window broken any more."""


def repair(problem: Problem, *, search: bool = True) -> Schedule:
    """Re-insert the previous placements.

    Each group of jobs goes, in the order in which the plan before had them, where it was if that still holds,
    else as near to it as machines, people and windows allow: never a pure shift of everything after it. Where an order
    is late then, or a window broken, work around it is taken out and put back otherwise.

    Args:
        problem: With ``previous`` places; without any this is a first guess.
        search: Whether greedy search has a hand in it; without, it is serial generation alone.

    Returns:
        A schedule that keeps every safety window. Where repair leaves out an order, breaks a window or is late and
        a fresh first guess does clearly better, the first guess is returned instead; but what people are about to
        begin stays where it is in that one too.
    """
    if not any(place is not None for place in problem.previous):
        return first_guess(problem)
    mended = generate(problem, network(problem), "previous")
    worth = score(problem, mended)
    if worth.unmet or worth.breaks or worth.late:
        held = hold_imminent(problem, mended)
        mended = _around_trouble(held, mended) if search else mended
        worth = score(problem, mended)
    if worth.unmet or worth.breaks or worth.late > WORTH_MOVING_MIN:
        fresh = first_guess(held)
        if clearly_better(score(problem, fresh), worth):
            return fresh
    return replace(mended, terms=terms(problem, mended))


def _around_trouble(problem: Problem, mended: Schedule) -> Schedule:
    """Greedy search until nothing is in trouble, and a little longer to bring back what need not have moved."""
    search = Search(problem, mended, seed=0)
    left = TRIALS
    while left > 0 and search.units.clusters:
        was = search.ledger.trouble()
        search.trial_and_keep()
        left = min(left - 1, CALM_TRIALS) if was and not search.ledger.trouble() else left - 1
    return search.written_down()


def clearly_better(fresh: Score, mended: Score) -> bool:
    """Whether a plan that moves everything is worth it: for orders met, windows kept, or much less lateness."""
    if (fresh.unmet, fresh.breaks) != (mended.unmet, mended.breaks):
        return (fresh.unmet, fresh.breaks) < (mended.unmet, mended.breaks)
    return fresh.late + WORTH_MOVING_MIN < mended.late
