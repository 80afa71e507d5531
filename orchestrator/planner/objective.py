"""The goals of the constraint model as expressions: what `score` counts, in variables."""

import itertools

from orchestrator.planner.score import (
    ANOTHER_HAND,
    CLEAN_MOVED,
    CLEAN_PER_MIN,
    EARLY_PER_MIN,
    FULL_EACH,
    MARGIN_MIN,
    MARGIN_PER_MIN,
    MOVED,
    MOVED_PER_MIN,
    OTHER_WORKER,
    PROMPT_PER_MIN,
    READY_EARLY_PER_MIN,
    RESERVE_PER_MIN,
    free_wait,
    fresh_price,
)
from orchestrator.planner.variables import Board, CleanKey, JobVars, Term


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
    """All of the last goal, at the prices of `score`."""
    problem = board.problem
    parts: list[Term] = [*board.preferences, *(MARGIN_PER_MIN * short for short in _short_margins(board))]
    parts += [*_ready_early(board), *_freshness(board), *_dawdling(board)]
    for index in board.structure.early:
        jobvars = board.jobs[index]
        if jobvars is not None and problem.jobs[index].fixed is None:
            parts.append(EARLY_PER_MIN * (jobvars.end - problem.now))
    for key, clean in board.cleans.items():
        parts.append((CLEAN_PER_MIN * clean.minutes + FULL_EACH * key.full) * clean.done)
    for index, job, jobvars in board.placed():
        if not job.stay and job.fixed is None:
            parts += _hands(board, index, jobvars)
            if index < len(problem.previous):
                parts += _changes(board, index, jobvars)
    return sum([*parts, *_cleaners(board), *_cleans_moved(board)])


def _ready_early(board: Board) -> list[Term]:
    """early(j) ≥ due(d) − margin − e(j), early(j) ≥ 0, for each last job j of order d."""
    found: list[Term] = []
    for due in board.problem.dues:
        for job in due.jobs:
            jobvars, place, wished = board.jobs[job], board.place(job), due.due - MARGIN_MIN
            if jobvars is not None and job not in board.constants and wished > 0:
                early = board.integer(0, wished, None if place is None else wished - place.end)
                board.model.add(early >= wished - jobvars.end)
                found.append(READY_EARLY_PER_MIN * early)
    return found


def _freshness(board: Board) -> list[Term]:
    """over(s) ≥ e(s) − s(s) − free(s), over(s) ≥ 0, for each stay s of food."""
    found: list[Term] = []
    for index in board.structure.fresh:
        jobvars, job = board.jobs[index], board.problem.jobs[index]
        if jobvars is not None:
            place, free = board.place(index), free_wait(job)
            over = board.integer(0, board.problem.horizon, None if place is None else place.end - place.start - free)
            board.model.add(over >= jobvars.end - jobvars.start - free).only_enforce_if(jobvars.present)
            found.append(fresh_price(job) * over)
    return found


def _dawdling(board: Board) -> list[Term]:
    """s(j) − e(i) − least, for each step j that must follow a step i soon."""
    found: list[Term] = []
    for window in board.structure.windows:
        if window.prompt and window.after is not None:
            job, before = board.jobs[window.job], board.jobs[window.after]
            if job is not None and before is not None:
                found.append(PROMPT_PER_MIN * (job.start - before.end - window.least))
    return found


def _hands(board: Board, index: int, jobvars: JobVars) -> list[Term]:
    """A price for minutes of those in reserve, and for each task that is passed on: Σ k(w), k ≤ h(i, w), h(i+1, w)."""
    problem, parts = board.problem, list[Term]()
    job, place = problem.jobs[index], board.place(index)
    spare = (part for part in jobvars.attending if problem.workers[part.worker].reserve)
    parts += [RESERVE_PER_MIN * (part.end - part.begin) * part.does for part in spare]
    if index in board.constants:
        return parts
    for portion, (first, then) in enumerate(itertools.pairwise(jobvars.hands)):
        kept: list[Term] = []
        for worker in first.keys() & then.keys():
            both = place is not None and all(worker in place.workers[n] for n in (portion, portion + 1))
            same = board.literal(both)
            board.model.add_implication(same, first[worker])
            board.model.add_implication(same, then[worker])
            kept.append(same)
        parts.append(ANOTHER_HAND * (job.hands * jobvars.present - sum(kept)))
    return parts


def _cleaners(board: Board) -> list[Term]:
    """A price for clean-downs by those in reserve."""
    return [
        RESERVE_PER_MIN * clean.minutes * does
        for clean in board.cleans.values()
        for worker, does in clean.hands.items()
        if board.problem.workers[worker].reserve
    ]


def _cleans_moved(board: Board) -> list[Term]:
    """A price for each clean-down of the adopted plan that is not kept: kept ⇒ same start, kind and people."""
    found: list[Term] = []
    for before in board.problem.cleans_before:
        run = board.jobs[before.before]
        clean = board.cleans.get(CleanKey(before.machine, before.before, before.full))
        if run is None:
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
