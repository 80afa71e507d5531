"""What a schedule does to the food, in variables: what `score_food` counts."""

from orchestrator.planner.problem import minutes_on
from orchestrator.planner.score_food import (
    MARGIN_MIN,
    MARGIN_PER_MIN,
    PROMPT_PER_MIN,
    READY_EARLY_PER_MIN,
    SLOW_PER_MIN,
    free_wait,
    fresh_price,
    lasts,
)
from orchestrator.planner.variables import Board, Term


def waste(board: Board) -> Term:
    """Σ load · wasted(s), with ¬wasted(s) ⇒ s(s) + keeps ≥ horizon, for each stay s that nothing follows."""
    problem = board.problem
    parts: list[Term] = []
    for index, job, jobvars in board.movable():
        if index not in board.structure.rests or not job.load:
            continue
        place = board.place(index)
        wasted = board.literal(place is not None and place.start + lasts(job) < problem.horizon)
        used = board.model.add(jobvars.start + lasts(job) >= problem.horizon)
        used.only_enforce_if([~wasted, jobvars.present])
        parts.append(job.load * wasted)
    return sum(parts)


def freshness(board: Board) -> Term:
    """All of it but waste, at the prices of `score_food`."""
    parts = [*_short_margins(board), *_ready_early(board), *_waits(board), *_dawdling(board), *_slow(board)]
    return sum([*board.preferences, *parts])


def _slow(board: Board) -> list[Term]:
    """Minutes that each job takes longer than usual on its machine, for other warm food beside it."""
    return [
        SLOW_PER_MIN * (minutes - minutes_on(job, machine)) * there
        for _, job, jobvars in board.movable()
        for (machine, minutes), there in (jobvars.modes.items() if job.crowded else ())
        if minutes > minutes_on(job, machine)
    ]


def _short_margins(board: Board) -> list[Term]:
    """What each order lacks of its margin: short(d) ≥ e(j) − due(d) + margin, short(d) ≥ 0."""
    found: list[Term] = []
    for _, due in board.open_dues():
        latest = due.due - MARGIN_MIN
        ends = [] if board.guess is None else [p.end for j in due.jobs if (p := board.guess.places[j]) is not None]
        short = board.integer(0, max(0, board.problem.horizon - latest), max([0, *(end - latest for end in ends)]))
        for job in due.jobs:
            board.model.add(short >= board.at(job).end - latest)
        found.append(MARGIN_PER_MIN * short)
    return found


def _ready_early(board: Board) -> list[Term]:
    """early(j) ≥ due(d) − margin − e(j), early(j) ≥ 0, for each last job j of order d."""
    found: list[Term] = []
    for _, due in board.open_dues():
        for job in due.jobs:
            place, wished = board.place(job), due.due - MARGIN_MIN
            if job not in board.constants and wished > 0:
                early = board.integer(0, wished, None if place is None else wished - place.end)
                board.model.add(early >= wished - board.at(job).end)
                found.append(READY_EARLY_PER_MIN * early)
    return found


def _waits(board: Board) -> list[Term]:
    """over(s) ≥ e(s) − s(s) − free(s), over(s) ≥ 0, for each stay s of food."""
    found: list[Term] = []
    for index, job, jobvars in board.movable():
        if index in board.structure.fresh:
            place, free = board.place(index), free_wait(job)
            over = board.integer(0, board.problem.horizon, None if place is None else place.end - place.start - free)
            board.model.add(over >= jobvars.end - jobvars.start - free).only_enforce_if(jobvars.present)
            found.append(fresh_price(job) * over)
    return found


def _dawdling(board: Board) -> list[Term]:
    """s(j) − e(i) − least, for each step j that must follow a step i soon."""
    found: list[Term] = []
    for window in board.open_windows():
        if window.prompt and window.after is not None:
            job, before = board.jobs[window.job], board.jobs[window.after]
            if job is not None and before is not None:
                found.append(PROMPT_PER_MIN * (job.start - before.end - window.least))
    return found
