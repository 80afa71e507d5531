"""From a solution of the constraint model to a schedule."""

from collections.abc import Callable

from orchestrator.planner.problem import CleanDown, Place, Schedule
from orchestrator.planner.variables import Board, JobVars, Term

Value = Callable[[Term], int]


def read_off(board: Board, value: Value, method: str) -> Schedule:
    """The schedule of a solution.

    Args:
        board: The model.
        value: The solution's value of an expression.
        method: How it was found.

    Returns:
        A place for each job, none for those left out, and the clean-downs in time.
    """
    places = tuple(None if j is None else _place(board, i, j, value) for i, j in enumerate(board.jobs))
    cleans: list[CleanDown] = []
    for key, clean in board.cleans.items():
        if value(clean.done) and places[key.run] is not None:
            workers = tuple(worker for worker, does in clean.hands.items() if value(does))
            start = value(clean.start)
            cleans.append(CleanDown(key.machine, key.run, key.kind, start, start + clean.minutes, workers))
    return Schedule(places, tuple(sorted(cleans, key=lambda clean: (clean.start, clean.machine))), method)


def _place(board: Board, index: int, jobvars: JobVars, value: Value) -> Place | None:
    if index in board.constants:
        return board.constants[index]
    if not value(jobvars.present):
        return None
    machine = next((machine for machine, there in jobvars.on.items() if value(there)), None)
    fixed = board.problem.jobs[index].fixed
    if fixed is not None:
        return Place(value(jobvars.start), value(jobvars.end), machine, ())
    workers = tuple(tuple(w for w, does in hands.items() if value(does)) for hands in jobvars.hands)
    return Place(value(jobvars.start), value(jobvars.end), machine, workers)
