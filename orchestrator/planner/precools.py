"""The rule of pre-cooling: a machine is cold when a run starts."""

from ortools.sat.python import cp_model

from orchestrator.planner.free_time import starts
from orchestrator.planner.paths import end_before, guessed
from orchestrator.planner.problem import minutes_on
from orchestrator.planner.variables import Board, CleanKey, CleanVars, Path


def precools(board: Board) -> None:
    """Where run j follows run i directly, s(j) ≤ e(i) + keeps, or it is pre-cooled from s(j) − minutes to s(j).

    It is pre-cooled only where it must be. Nobody is needed for it; the machine may not be stopped meanwhile.
    """
    for path in board.paths.values():
        for run in path.runs if path.machine.precool else ():
            _precool(board, path, run)


def _precool(board: Board, path: Path, run: int) -> None:
    machine, jobvars, job = path.machine, board.at(run), board.problem.jobs[run]
    key = CleanKey(path.index, run, "pre-cool")
    cooled = board.literal(guessed(board, key) is not None)
    board.model.add_implication(cooled, jobvars.on[path.index])
    path.cooled[run] = machine.precool * cooled
    board.cleans[key] = CleanVars(jobvars.start - machine.precool, machine.precool, cooled)
    for first, arc in path.before(run):
        cold = path.condition.cold if first < 0 else end_before(board, path, first)
        board.model.add(jobvars.start - machine.precool >= end_before(board, path, first)).only_enforce_if(arc, cooled)
        if cold is None:
            board.model.add_implication(arc, cooled)
            continue
        board.model.add(jobvars.start <= cold + machine.keeps).only_enforce_if(arc, ~cooled)
        board.model.add(jobvars.start > cold + machine.keeps).only_enforce_if(arc, cooled)
    runs = starts(board.usable(path.index), machine.precool + minutes_on(job, path.index), -machine.precool)
    domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in runs])
    if job.fixed is None:
        board.model.add_linear_expression_in_domain(jobvars.start, domain).only_enforce_if(cooled)
