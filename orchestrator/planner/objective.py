"""The goals of the constraint model as expressions: what `score` counts, in variables."""

from orchestrator.planner.score import (
    CLEAN_PER_MIN,
    EARLY_PER_MIN,
    FRESH_FREE_MIN,
    FRESH_PER_MIN,
    MARGIN_MIN,
    MARGIN_PER_MIN,
    MOVED,
    OTHER_WORKER,
)
from orchestrator.planner.variables import Board, JobVars, Term


def met(board: Board) -> Term:
    """Weights of the orders that are met; more is better."""
    return sum(board.problem.dues[due].weight * literal for due, literal in board.met.items())


def breaks(board: Board) -> Term:
    """Minutes by which quality windows are missed, and a price for each; only with slack in the setting."""
    return sum(board.breaks)


def late(board: Board, most: int) -> Term:
    """Σ weight · late, with late(d) ≥ e(j) − due(d) for each last job j of order d.

    Args:
        board: The model.
        most: Upper bound of the sum that is known to be possible.

    Returns:
        The sum; each order's part is bounded by ``most`` too, which settles most orders at once.
    """
    parts: list[Term] = []
    for index, due in enumerate(board.problem.dues):
        if board.setting.left_out.intersection(due.jobs):
            continue
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


def preference(board: Board) -> Term:
    """Preferred windows, margins, freshness, work done early, clean-downs, changes, at the prices of `score`."""
    problem = board.problem
    parts: list[Term] = [*board.preferences, *(MARGIN_PER_MIN * short for short in _short_margins(board))]
    for index in board.structure.fresh:
        jobvars = board.jobs[index]
        if jobvars is not None:
            free = problem.jobs[index].shortest + FRESH_FREE_MIN
            place = board.place(index)
            over = board.integer(0, problem.horizon, None if place is None else place.end - place.start - free)
            rule = board.model.add(over >= jobvars.end - jobvars.start - free)
            rule.only_enforce_if(jobvars.present)
            parts.append(FRESH_PER_MIN * over)
    for index in board.structure.early:
        jobvars = board.jobs[index]
        if jobvars is not None and problem.jobs[index].fixed is None:
            parts.append(EARLY_PER_MIN * (jobvars.end - problem.now))
    for clean in board.cleans.values():
        rinse, full = clean.minutes
        parts.append(CLEAN_PER_MIN * (rinse * clean.rinse + full * clean.full))
    for index, job, jobvars in board.placed():
        if index < len(problem.previous) and not job.stay and job.fixed is None:
            parts += _changes(board, index, jobvars)
    return sum(parts)


def _short_margins(board: Board) -> list[Term]:
    """What each order lacks of its margin: short(d) ≥ e(j) − due(d) + margin, short(d) ≥ 0."""
    found: list[Term] = []
    for due in board.problem.dues:
        if board.setting.left_out.intersection(due.jobs):
            continue
        latest = due.due - MARGIN_MIN
        ends = [] if board.guess is None else [p.end for j in due.jobs if (p := board.guess.places[j]) is not None]
        short = board.integer(0, max(0, board.problem.horizon - latest), max([0, *(end - latest for end in ends)]))
        for job in due.jobs:
            board.model.add(short >= board.at(job).end - latest)
        found.append(short)
    return found


def _changes(board: Board, index: int, jobvars: JobVars) -> list[Term]:
    """A price if the job starts at another instant or on another machine than before, and for each other hand."""
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
    parts: list[Term] = [MOVED * moved]
    if len(before.workers) == len(jobvars.hands):
        for gone, hands in zip(before.workers, jobvars.hands, strict=True):
            kept = sum(hands[worker] for worker in set(gone) if worker in hands)
            parts.append(OTHER_WORKER * (len(set(gone)) - kept))
    return parts
