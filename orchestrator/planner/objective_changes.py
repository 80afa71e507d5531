"""What a schedule changes of the adopted plan, in variables: what `score_changes` counts."""

from orchestrator.planner.score_changes import CLEAN_MOVED, EARLY_PER_MIN, MOVED, MOVED_PER_MIN, OTHER_WORKER
from orchestrator.planner.variables import Board, CleanKey, JobVars, Term


def changes(board: Board) -> Term:
    """All of it at the prices of `score_changes`."""
    problem = board.problem
    parts: list[Term] = []
    for index, job, jobvars in board.movable():
        if job.stay or job.fixed is not None:
            continue
        if index in board.structure.early:
            parts.append(EARLY_PER_MIN * (jobvars.end - problem.now))
        if index < len(problem.previous):
            parts += _moves(board, index, jobvars)
    return sum([*parts, *_cleans_moved(board)])


def _moves(board: Board, index: int, jobvars: JobVars) -> list[Term]:
    """A price if the job starts at another instant (more for each minute) or on another machine; and for new hands."""
    before, place = board.problem.previous[index], board.place(index)
    if before is None:
        return []
    moved = board.literal(place is None or place.start != before.start or place.machine != before.machine)
    board.model.add(jobvars.start == before.start).only_enforce_if(~moved)
    if before.machine is not None:
        if before.machine in jobvars.on:
            board.model.add_implication(~moved, jobvars.on[before.machine])
        else:
            board.model.add_bool_and([moved])
    off = board.integer(0, board.problem.horizon, None if place is None else abs(place.start - before.start))
    board.model.add(off >= jobvars.start - before.start)
    board.model.add(off >= before.start - jobvars.start)
    parts: list[Term] = [MOVED * moved, MOVED_PER_MIN * off]
    if len(before.workers) == len(jobvars.hands):
        for gone, hands in zip(before.workers, jobvars.hands, strict=True):
            kept = sum(hands[worker] for worker in set(gone) if worker in hands)
            parts.append(OTHER_WORKER * (len(set(gone)) - kept))
    return parts


def _cleans_moved(board: Board) -> list[Term]:
    """A price for each clean-down of the adopted plan that is not kept: kept ⇒ same start, kind and people."""
    found: list[Term] = []
    for before in board.problem.cleans_before:
        run = board.jobs[before.before]
        clean = board.cleans.get(CleanKey(before.machine, before.before, before.kind))
        if run is None or before.kind == "pre-cool":
            continue
        if clean is None:
            found.append(CLEAN_MOVED * run.present)
            continue
        kept = board.literal(board.guess is not None and before in board.guess.cleans)
        board.model.add_implication(kept, clean.done)
        board.model.add(clean.start == before.start).only_enforce_if(kept)
        for worker in before.workers:
            does = clean.hands.get(worker)
            board.model.add_bool_or([~kept] if does is None else [~kept, does])
        found.append(CLEAN_MOVED * (run.present - kept))
    return found
