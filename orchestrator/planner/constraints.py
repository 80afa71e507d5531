"""The rules of the constraint model, one function each, in the order in which they are listed in `ALL`.

In the formulas s and e are a job's start and end, p whether it is planned at all, a(m) whether it is on machine m,
and h(k, w) whether worker w does its portion k.
"""

from collections import defaultdict
from collections.abc import Callable

from ortools.sat.python import cp_model

from orchestrator.core.models import WindowClass
from orchestrator.planner.clean_downs import clean_downs
from orchestrator.planner.day_ends import day_ends
from orchestrator.planner.free_time import Spans, both, merged, starts
from orchestrator.planner.heat import heat
from orchestrator.planner.hygiene import hygiene
from orchestrator.planner.paths import paths
from orchestrator.planner.precools import precools
from orchestrator.planner.problem import Job
from orchestrator.planner.score import BREAK_EACH
from orchestrator.planner.score_food import PREFERENCE_PER_MIN
from orchestrator.planner.score_work import profile
from orchestrator.planner.structure import Window, span
from orchestrator.planner.variables import Board, JobVars, Term


def order(board: Board) -> None:
    """No job starts before the end of one that it follows: s(i) ≥ e(j), unless the link's least is negative."""
    followers = board.structure.followers
    near = {index for moved, _, _ in board.movable() for index in (moved, *followers[moved])}
    for index in sorted(near):
        job, jobvars = board.problem.jobs[index], board.jobs[index]
        if job.fixed is not None or jobvars is None:
            continue
        for link in job.after:
            before = board.jobs[link.after]
            if (
                before is not None
                and link.least >= 0
                and not (index in board.constants and link.after in board.constants)
            ):
                board.model.add(jobvars.start >= before.end).only_enforce_if(jobvars.present)


def windows(board: Board) -> None:
    """least ≤ s(i) − e(j) ≤ most for a link, least ≤ e(i) − s(i) ≤ most for a stay.

    Safety: as it stands. Quality: as it stands, or least − slack and most + slack at a price, if the setting allows
    it. Preference: always with slack. No stay ends before it starts.
    """
    for window in board.open_windows():
        jobvars = board.jobs[window.job]
        before = jobvars if window.after is None else board.jobs[window.after]
        if jobvars is None or before is None:
            continue
        length = jobvars.end - jobvars.start if window.after is None else jobvars.start - before.end
        slack: Term = 0
        if window.window is WindowClass.QUALITY and board.setting.slack:
            slack = _slack(board, window, jobvars)
        elif window.window is WindowClass.PREFERENCE:
            if not board.setting.preferences:
                continue
            slack = _slack(board, window, jobvars)
        if window.after is None:
            board.model.add(length >= 0).only_enforce_if(jobvars.present)
        if window.least != 0:
            board.model.add(length >= window.least - slack).only_enforce_if(jobvars.present)
        if window.most is not None:
            board.model.add(length <= window.most + slack).only_enforce_if(jobvars.present)


def _slack(board: Board, window: Window, jobvars: JobVars) -> Term:
    length = None if board.guess is None else span(window, board.guess.places)
    by = None if length is None else window.missed_by(length)
    slack = board.integer(0, board.problem.horizon, by)
    if window.window is WindowClass.PREFERENCE:
        board.preferences.append(PREFERENCE_PER_MIN * slack)
        return slack
    broken = board.literal(bool(by))
    board.model.add(slack == 0).only_enforce_if(~broken)
    board.breaks.append(slack + BREAK_EACH * broken)
    return slack


def last_stays(board: Board) -> None:
    """A stay that nothing follows ends when its longest is over or the horizon ends: e = min(s + longest, horizon).

    One that is spent already is still there as of now.
    """
    for index, job, jobvars in board.movable():
        if index in board.structure.rests and job.fixed is not None:
            until = min(job.fixed.start + job.longest, board.problem.horizon)
            board.model.add(jobvars.end == max(board.problem.now, until))
        elif index in board.structure.rests:
            board.model.add_min_equality(jobvars.end, [jobvars.start + job.longest, board.problem.horizon])


def machines(board: Board) -> None:
    """Each job is on exactly one of its machines: Σ a(m) = p; work starts only where no stop cuts into it."""
    for _, job, jobvars in board.movable():
        if job.fixed is not None or not job.machines:
            continue
        if len(job.machines) > 1:
            board.model.add(sum(jobvars.on.values()) == jobvars.present)
        if job.stay or job.shortest == 0:
            continue
        for (machine, minutes), there in jobvars.modes.items():
            _only_then(board, jobvars, starts(board.usable(machine), minutes), there)


def _only_then(board: Board, jobvars: JobVars, spans: Spans, there: cp_model.IntVar) -> None:
    """If ``there``, the job starts in one of the spans."""
    possible = both(spans, jobvars.starts)
    if possible != jobvars.starts:
        domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in possible])
        board.model.add_linear_expression_in_domain(jobvars.start, domain).only_enforce_if(there)


def capacity(board: Board) -> None:
    """One job at a time, NoOverlap, or together up to the capacity, Σ load ≤ capacity at every instant.

    A machine in which more is already than it holds is not asked to hold less. Stays keep clear of stops. What a job
    needs besides its one machine, it needs for the same minutes.
    """
    besides = _besides(board)
    users: dict[int, list[tuple[int, Job, JobVars]]] = defaultdict(list)
    for index, job, jobvars in board.movable():
        for machine in jobvars.on if job.stay or job.longest > 0 else ():
            users[machine].append((index, job, jobvars))
    for machine in sorted(users.keys() | besides.keys()):
        there, also = users[machine], besides.get(machine, [])
        kind = board.problem.machines[machine]
        if kind.shared and kind.capacity is None:
            continue
        used = [(job, x) for index, job, jobvars in there for x in _intervals(board, index, job, jobvars, machine)]
        intervals = [interval for _, interval in used]
        _stays_off_stops(board, machine, used)
        if not kind.shared:
            blocks = [board.model.new_fixed_size_interval_var(a, b - a, "") for a, b in _blocked(board, machine)]
            board.model.add_no_overlap([*intervals, *blocks, *(x for x, _ in also)])
        elif kind.capacity is not None:
            known = profile(_known_loads(board, machine))
            blocks = [board.model.new_fixed_size_interval_var(a, b - a, "") for a, b, _ in known]
            loads = [*(job.load for job, _ in used), *(load for _, _, load in known), *(load for _, load in also)]
            most = max(kind.capacity, _already(board, machine))
            board.model.add_cumulative([*intervals, *blocks, *(x for x, _ in also)], loads, most)


def _besides(board: Board) -> dict[int, list[tuple[cp_model.IntervalVar, int]]]:
    """Machine → (minutes, load) of the jobs that need it besides another, one interval for each job."""
    found: dict[int, list[tuple[cp_model.IntervalVar, int]]] = {}
    for _, job, jobvars in board.placed():
        if job.also and job.shortest > 0:
            there = jobvars.present
            interval = board.model.new_optional_fixed_size_interval_var(jobvars.start, job.shortest, there, "")
            for machine, load in job.also:
                found.setdefault(machine, []).append((interval, load))
    return found


def _blocked(board: Board, machine: int) -> Spans:
    """When jobs with a known place have the machine; where two of them overlap in fact, once."""
    return merged((start, end) for start, end, _ in _known_loads(board, machine))


def _known_loads(board: Board, machine: int) -> list[tuple[int, int, int]]:
    """What jobs with a known place put into a machine: start, end, load."""
    jobs, left_out = board.problem.jobs, board.setting.left_out
    known = ((index, p) for index, p in board.constants.items() if p.machine == machine and index not in left_out)
    loads = [(place.start, place.end, jobs[index].load) for index, place in known if place.end > place.start]
    return [*loads, *board.problem.machines[machine].taken]


def _already(board: Board, machine: int) -> int:
    """Most that facts, and stays in hand as of now, put into the machine at once: it is not asked to hold less."""
    spans = list(board.problem.machines[machine].taken)
    for index, job in enumerate(board.problem.jobs):
        if job.fixed is not None and job.fixed.machine == machine and index not in board.setting.left_out:
            until = board.problem.now + 1 if job.fixed.end is None else job.fixed.end
            spans.append((job.fixed.start, max(until, job.fixed.start), job.load))
    return max((load for _, _, load in profile(spans)), default=0)


def _intervals(board: Board, index: int, job: Job, jobvars: JobVars, machine: int) -> list[cp_model.IntervalVar]:
    """When a job has a machine; one for each length that it may have there."""
    there = jobvars.on[machine]
    if not job.stay:
        lengths = ((minutes, literal) for (on, minutes), literal in jobvars.modes.items() if on == machine)
        new = board.model.new_optional_fixed_size_interval_var
        return [new(jobvars.start, minutes, literal, "") for minutes, literal in lengths]
    place = board.place(index)
    size = board.integer(0, board.problem.horizon, None if place is None else place.end - place.start)
    return [board.model.new_optional_interval_var(jobvars.start, size, jobvars.end, there, "")]


def _stays_off_stops(board: Board, machine: int, used: list[tuple[Job, cp_model.IntervalVar]]) -> None:
    stops = board.problem.machines[machine].stops
    blocks = [board.model.new_fixed_size_interval_var(a, b - a, "") for a, b in stops]
    for job, interval in used:
        if blocks and job.stay and job.fixed is None:
            board.model.add_no_overlap([interval, *blocks])


def crew(board: Board) -> None:
    """Each portion has its hands, Σ h(k, w) = hands · p, in one free span; nobody does two things at a time."""
    busy: list[list[cp_model.IntervalVar]] = [[] for _ in board.problem.workers]
    for _, job, jobvars in board.movable():
        if job.fixed is not None:
            continue
        for hands in jobvars.hands:
            board.model.add(sum(hands.values()) == job.hands * jobvars.present)
        for part in jobvars.attending:
            _only_then(board, jobvars, part.starts, part.does)
            begin, minutes = jobvars.start + part.begin, part.end - part.begin
            busy[part.worker].append(board.model.new_optional_fixed_size_interval_var(begin, minutes, part.does, ""))
    for clean in board.cleans.values():
        for worker, does in clean.hands.items():
            busy[worker].append(board.model.new_optional_fixed_size_interval_var(clean.start, clean.minutes, does, ""))
    for intervals in busy:
        board.model.add_no_overlap(intervals)


def hand_over(board: Board) -> None:
    """No order is handed over before its earliest: e ≥ earliest for each of its last jobs."""
    for due in board.problem.dues:
        for job in due.jobs:
            jobvars = board.jobs[job]
            if jobvars is not None and due.earliest > 0 and job not in board.constants:
                board.model.add(jobvars.end >= due.earliest).only_enforce_if(jobvars.present)


ALL: tuple[Callable[[Board], None], ...] = (
    order,
    windows,
    last_stays,
    machines,
    capacity,
    heat,
    paths,
    precools,
    day_ends,
    hygiene,
    clean_downs,
    crew,
    hand_over,
)
