"""The goals of the constraint model as expressions: what `score` counts, in variables.

A model of some of the jobs counts what these can change; the rest is the same before and after.
"""

from collections.abc import Callable

from orchestrator.planner.objective_changes import changes
from orchestrator.planner.objective_food import freshness, waste
from orchestrator.planner.objective_work import cleaning, crew
from orchestrator.planner.score import CALM, replans
from orchestrator.planner.variables import Board, Term

GOALS = ("unmet", "breaks", "late", "waste", "calm", "freshness", "cleaning", "crew", "changes")
"""The fields of `score.Score`."""
OPEN = 10**9
"""No bound known."""


def goals(*, again: bool) -> tuple[str, ...]:
    """Goals that are carried out one after the other; planned again, those after calm are weighed within it."""
    return GOALS[: GOALS.index("calm") + 1] if again else tuple(goal for goal in GOALS if goal != "calm")


def met(board: Board) -> Term:
    """Weights of the orders that are met; more is better."""
    return sum(board.problem.dues[due].weight * literal for due, literal in board.met.items())


def breaks(board: Board) -> Term:
    """Minutes by which quality windows are missed, and a price for each; only with slack in the setting."""
    return sum(board.breaks)


def late(board: Board, most: int = OPEN) -> Term:
    """Σ weight · late, with late(d) ≥ e(j) − due(d) for each last job j of order d.

    Args:
        board: The model.
        most: Upper bound of the sum that is known to be possible.

    Returns:
        The sum; each order's part is bounded by ``most`` too, which settles most orders at once.
    """
    parts: list[Term] = []
    for index, due in board.open_dues():
        ends = [board.at(job).end for job in due.jobs]
        guess = board.guess
        places = [guess.places[job] for job in due.jobs] if guess else []
        hint = max([0, *(place.end - due.due for place in places if place is not None)])
        minutes = board.integer(0, max(0, min(most // due.weight, board.problem.horizon - due.due)), hint)
        for end in ends:
            rule = board.model.add(minutes >= end - due.due)
            if index in board.met:
                rule.only_enforce_if(board.met[index])
        parts.append(due.weight * minutes)
    return sum(parts)


def calm(board: Board) -> Term:
    """In a re-plan, all that comes after it in one sum at the weights of `CALM`."""
    if not replans(board.problem):
        return 0
    return sum(weight * EXPRESSIONS[goal](board) for goal, weight in CALM.items())


EXPRESSIONS: dict[str, Callable[[Board], Term]] = {
    "breaks": breaks,
    "late": late,
    "waste": waste,
    "calm": calm,
    "freshness": freshness,
    "cleaning": cleaning,
    "crew": crew,
    "changes": changes,
}
"""Each goal but the first, which is maximised as `met`. Each makes its own variables: ask for it once a model."""
