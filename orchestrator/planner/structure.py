"""What follows what in a problem, read once: followers, the orders each job serves, and the windows to keep."""

from collections import OrderedDict
from dataclasses import dataclass

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Due, Job, Place, Problem


@dataclass(frozen=True, slots=True)
class Window:
    """A span of minutes to keep between ``least`` and ``most``.

    With ``after`` it is the time from that job's end to the start of ``job``; without, the length of the stay ``job``.
    """

    job: int
    after: int | None
    least: int
    most: int | None
    window: WindowClass
    prompt: bool = False
    """Work that must follow other work soon: the sooner the better."""

    def missed_by(self, minutes: int) -> int:
        """By how many minutes a span misses the window: 0 inside it."""
        over = 0 if self.most is None else minutes - self.most
        return max(0, self.least - minutes, over)


@dataclass(frozen=True, slots=True)
class Structure:
    """What a problem's jobs mean to each other."""

    followers: tuple[tuple[int, ...], ...]
    order: tuple[int, ...]
    """Jobs so that each comes after all that it follows."""
    position: tuple[int, ...]
    """Of each job in that order."""
    reach: tuple[frozenset[int], ...]
    """The orders (by position in ``dues``) that each job serves."""
    windows: tuple[Window, ...]
    """All that can still be kept or missed: what already happened is left out."""
    windows_of: tuple[tuple[int, ...], ...]
    """Of each job, the windows that begin or end with it, by position."""
    fresh: tuple[int, ...]
    """Stays of finished products, from which an order is served without another stay, and of whatever else keeps
    for a week at most: not to be too long."""
    early: tuple[int, ...]
    """Work that makes something to be kept for later work: better early than late."""
    rests: frozenset[int]
    """Stays that nothing follows."""


def _structure(jobs: tuple[Job, ...], dues: tuple[tuple[int, ...], ...], horizon: int) -> Structure:
    followers: list[list[int]] = [[] for _ in jobs]
    for index, job in enumerate(jobs):
        for link in job.after:
            followers[link.after].append(index)
    order = topological(jobs)
    reach = [frozenset(d for d, due in enumerate(dues) if index in due) for index in range(len(jobs))]
    near = [bool(reach[index]) for index in range(len(jobs))]
    for index in reversed(order):
        for follower in followers[index]:
            reach[index] |= reach[follower]
            near[index] |= near[follower] and not jobs[follower].stay
    rests = frozenset(i for i, job in enumerate(jobs) if job.stay and not followers[i])
    fresh = tuple(i for i, job in enumerate(jobs) if job.stay and i not in rests and (near[i] or job.perishable))
    early = tuple(i for i, job in enumerate(jobs) if not job.stay and any(jobs[f].stay for f in followers[i]))
    windows = tuple(_windows(jobs, horizon))
    return Structure(
        followers=tuple(tuple(f) for f in followers),
        order=order,
        position=tuple(sorted(range(len(jobs)), key=order.__getitem__)),
        reach=tuple(reach),
        windows=windows,
        windows_of=_windows_of(windows, len(jobs)),
        fresh=fresh,
        early=early,
        rests=rests,
    )


def _windows_of(windows: tuple[Window, ...], jobs: int) -> tuple[tuple[int, ...], ...]:
    found: list[list[int]] = [[] for _ in range(jobs)]
    for number, window in enumerate(windows):
        for job in (window.job, *(() if window.after is None else (window.after,))):
            found[job].append(number)
    return tuple(tuple(numbers) for numbers in found)


_Key = tuple[int, int, int]
_KEPT = 8
_read: OrderedDict[_Key, tuple[tuple[Job, ...], tuple[Due, ...], Structure]] = OrderedDict()
"""The last few structures by the identity of what they were read from, which is kept with them: to hash thousands of
jobs at every look-up would cost more than all that is asked of them."""


def structure(problem: Problem) -> Structure:
    """What the problem's jobs mean to each other.

    It is asked for thousands of times, and hashing a problem's jobs takes longer than counting what a plan is worth:
    so the last few are known by which objects the jobs are, which are kept here so that none can take their place.

    Raises:
        ValueError: jobs follow each other in a circle.
    """
    key = (id(problem.jobs), id(problem.dues), problem.horizon)
    if key not in _read:
        found = _structure(problem.jobs, tuple(due.jobs for due in problem.dues), problem.horizon)
        _read[key] = (problem.jobs, problem.dues, found)
        while len(_read) > _KEPT:
            _read.popitem(last=False)
    return _read[key][2]


def topological(jobs: tuple[Job, ...]) -> tuple[int, ...]:
    """Jobs so that each comes after all that it follows; links with a negative least are not looked at.

    Raises:
        ValueError: jobs follow each other in a circle.
    """
    waiting = [sum(link.least >= 0 for link in job.after) for job in jobs]
    followers: list[list[int]] = [[] for _ in jobs]
    for index, job in enumerate(jobs):
        for link in job.after:
            if link.least >= 0:
                followers[link.after].append(index)
    ready = [index for index, count in enumerate(waiting) if count == 0]
    for index in ready:
        for follower in followers[index]:
            waiting[follower] -= 1
            if waiting[follower] == 0:
                ready.append(follower)
    if len(ready) < len(jobs):
        stuck = next(jobs[index].id for index, count in enumerate(waiting) if count > 0)
        raise ValueError(f"jobs follow each other in a circle through {stuck}")
    return tuple(ready)


def _windows(jobs: tuple[Job, ...], horizon: int) -> list[Window]:
    found: list[Window] = []
    for index, job in enumerate(jobs):
        if job.stay and (job.fixed is None or job.fixed.end is None):
            most = None if job.longest >= horizon else job.longest
            found.append(Window(index, None, job.shortest, most, job.stay_window))
        if job.fixed is not None:
            continue
        for link in job.after:
            joined = link.most == 0 and (job.stay or jobs[link.after].stay)
            window = WindowClass.SAFETY if joined else link.window
            prompt = bool(link.most) and not link.life and not job.stay and not jobs[link.after].stay
            found.append(Window(index, link.after, link.least, link.most, window, prompt))
    return found


def span(window: Window, places: tuple[Place | None, ...]) -> int | None:
    """How long the span is in a schedule; none when one of its jobs is left out."""
    place = places[window.job]
    if place is None:
        return None
    if window.after is None:
        return place.end - place.start
    before = places[window.after]
    return None if before is None else place.start - before.end


def fixed_place(job: Job) -> Place | None:
    """Where a job is that already happened or is in hand with a known end; none if it can still be placed."""
    fixed = job.fixed
    if fixed is None or fixed.end is None:
        return None
    return Place(fixed.start, fixed.end, fixed.machine, tuple(fixed.workers for _ in job.portions))


def portion_at(job: Job, index: int, minutes: int) -> tuple[int, int]:
    """When the hands of a portion are needed, from the start of a job that lasts so many minutes."""
    return portion_span(job, index, Place(0, minutes))


def portion_span(job: Job, index: int, place: Place) -> tuple[int, int]:
    """From when to when the hands of a portion are needed."""
    portion = job.portions[index]
    if portion.when == "throughout":
        return place.start, place.end
    minutes = min(portion.minutes, place.end - place.start)
    if portion.when == "start":
        return place.start, place.start + minutes
    return place.end - minutes, place.end
