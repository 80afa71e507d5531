"""A new plan close to the one before: what can stay stays, the rest is re-inserted in order of time."""

from dataclasses import replace

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import score, terms


def repair(problem: Problem) -> Schedule:
    """Re-insert the previous placements.

    Each group of jobs goes, in the order in which the plan before had them, where it was if that still holds,
    else as near to it as machines, people and windows allow: never a pure shift of everything after it.

    Args:
        problem: With ``previous`` places; without any this is a first guess.

    Returns:
        A schedule that keeps every safety window. Where repair leaves out an order that a fresh first guess
        can meet, the first guess is returned instead.
    """
    if not any(place is not None for place in problem.previous):
        return first_guess(problem)
    mended = generate(problem, network(problem), "previous")
    worth = score(problem, mended)
    if worth.unmet:
        fresh = first_guess(problem)
        if score(problem, fresh).unmet < worth.unmet:
            return fresh
    return replace(mended, terms=terms(problem, mended))
