"""A new plan close to the one before: what can stay stays, the rest is re-inserted in order of time."""

from dataclasses import replace

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.generation import generate
from orchestrator.planner.imminent import hold_imminent
from orchestrator.planner.lags import network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, score, terms

WORTH_MOVING_MIN = 60
"""So many weighted minutes of lateness must be saved before a fresh plan replaces one that moves little."""


def repair(problem: Problem) -> Schedule:
    """Re-insert the previous placements.

    Each group of jobs goes, in the order in which the plan before had them, where it was if that still holds,
    else as near to it as machines, people and windows allow: never a pure shift of everything after it.

    Args:
        problem: With ``previous`` places; without any this is a first guess.

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
        fresh = first_guess(hold_imminent(problem, mended))
        if clearly_better(score(problem, fresh), worth):
            return fresh
    return replace(mended, terms=terms(problem, mended))


def clearly_better(fresh: Score, mended: Score) -> bool:
    """Whether a plan that moves everything is worth it: for orders met, windows kept, or much less lateness."""
    if (fresh.unmet, fresh.breaks) != (mended.unmet, mended.breaks):
        return (fresh.unmet, fresh.breaks) < (mended.unmet, mended.breaks)
    return fresh.late + WORTH_MOVING_MIN < mended.late
