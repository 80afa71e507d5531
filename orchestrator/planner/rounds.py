"""One round of large-neighbourhood search: a model of the jobs that are freed, everything else blocked out."""

from dataclasses import dataclass

from ortools.sat.python import cp_model

from orchestrator.planner import constraints, objective
from orchestrator.planner.budget import Budget, new_solver
from orchestrator.planner.neighbourhoods import Neighbourhood
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.score import WEIGHTS, Score, replans
from orchestrator.planner.variables import Board, Setting, Term

METHOD = "neighbourhoods"
TROUBLE = ("unmet", "breaks", "late")
"""While one of these is not met, a round looks no further than freshness."""
ROUND_S = 2.0
"""Seconds for one round, at most."""
ROUND_EFFORT = 0.04
"""The solver's own seconds for one round, a third of a second on a free core: with half as much or twice as much plans
of 20 batches were worse after 8 s."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a round found."""

    schedule: Schedule | None
    proven: bool
    """Whether nothing better can be had by these jobs alone."""


def run(
    problem: Problem, best: Schedule, value: Score, chosen: Neighbourhood, budget: Budget, *, seed: int, workers: int
) -> Outcome:
    """Place the freed jobs as well as can be.

    Args:
        problem: All of it.
        best: Where everything is; what is not freed stays there.
        value: Its score.
        chosen: What is freed.
        budget: Of the whole search.
        seed: Of the solver.
        workers: Of the solver.
    """
    board = local(problem, best, value, chosen)
    board.model.minimize(_worth(board, value))
    solver = new_solver(budget, seed, workers, hurried=True)
    status = budget.run(solver, board.model, ROUND_S, effort=ROUND_EFFORT)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Outcome(None, proven=status == cp_model.INFEASIBLE)
    return Outcome(read_off(board, solver.value, METHOD), proven=status == cp_model.OPTIMAL)


def local(problem: Problem, best: Schedule, value: Score, chosen: Neighbourhood) -> Board:
    """The model of the freed jobs with all its rules."""
    held = {i: place for i, place in enumerate(best.places) if place is not None and i not in chosen.freed}
    out = frozenset(i for i, place in enumerate(best.places) if place is None and i not in chosen.freed)
    setting = Setting(
        left_out=out,
        optional=chosen.wanted,
        slack=value.breaks > 0 or bool(chosen.wanted),
        preferences=True,
        held=held,
    )
    board = Board(problem, setting, best)
    for rule in constraints.ALL:
        rule(board)
    return board


def _worth(board: Board, value: Score) -> Term:
    """The goals from the first that is not met, at `score.WEIGHTS`; those before it are kept as they are."""
    again = replans(board.problem)
    names = objective.goals(again=again)
    trouble = any(getattr(value, goal) > 0 for goal in TROUBLE)
    if trouble:
        names = (*TROUBLE, "waste", "calm" if again else "freshness")
    least = min(getattr(WEIGHTS, goal) for goal in names)
    parts: list[Term] = []
    open_already = False
    for goal in names:
        open_already = open_already or getattr(value, goal) > 0
        weight = getattr(WEIGHTS, goal) // least
        if goal == "unmet":
            parts.append(-weight * objective.met(board))
        elif open_already:
            parts.append(weight * objective.EXPRESSIONS[goal](board))
        else:
            kept = objective.late(board, 0) if goal == "late" else objective.EXPRESSIONS[goal](board)
            if not isinstance(kept, int):
                board.model.add(kept <= 0)
    return sum(parts)
