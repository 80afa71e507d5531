"""Between which minutes a job can start and end, given the jobs whose place is known: one pass there, one back."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Place, Problem
from orchestrator.planner.structure import Structure, Window, structure


@dataclass(slots=True)
class Limit:
    """Earliest and latest start, earliest and latest end."""

    start: list[int]
    end: list[int]


def limits(problem: Problem, known: Mapping[int, Place], free: Collection[int], *, slack: bool) -> dict[int, Limit]:
    """What windows leave to the jobs that are free; machines and people apart.

    Args:
        problem: Jobs and their windows.
        known: Where the others are.
        free: Jobs to be placed.
        slack: Whether quality windows may be missed: then they limit nothing.

    Returns:
        For each of them, minutes; earliest may be after latest, and then it has no place.
    """
    read = structure(problem)
    found = {index: _alone(problem, index) for index in free}
    order = sorted(found, key=read.position.__getitem__)
    for index in order:
        _forward(read, known, found, index, slack=slack)
        _length(problem, found[index], index, slack=slack)
    for index in reversed(order):
        _backward(read, known, found, index, slack=slack)
        _length(problem, found[index], index, slack=slack)
    return found


def _alone(problem: Problem, index: int) -> Limit:
    job, horizon = problem.jobs[index], problem.horizon
    if job.fixed is not None:
        return Limit([job.fixed.start, job.fixed.start], [max(problem.now, job.fixed.start), horizon])
    joined = job.stay and any(link.most == 0 for link in job.after)
    first = 0 if joined else max(problem.now, job.release)
    return Limit([first, horizon], [first, horizon])


def _length(problem: Problem, limit: Limit, index: int, *, slack: bool) -> None:
    """least ≤ e − s ≤ most, both ways."""
    job = problem.jobs[index]
    least, most = job.shortest, job.longest if not job.stay or job.longest < problem.horizon else problem.horizon
    if job.stay and not (
        job.stay_window is WindowClass.SAFETY or (job.stay_window is WindowClass.QUALITY and not slack)
    ):
        least, most = 0, problem.horizon
    start, end = limit.start, limit.end
    end[0], end[1] = max(end[0], start[0] + least), min(end[1], start[1] + most)
    start[0], start[1] = max(start[0], end[0] - most), min(start[1], end[1] - least)


def _span(window: Window, *, slack: bool) -> tuple[int, int | None]:
    hard = window.window is WindowClass.SAFETY or (window.window is WindowClass.QUALITY and not slack)
    return (window.least, window.most) if hard else (min(0, window.least), None)


def _forward(read: Structure, known: Mapping[int, Place], found: dict[int, Limit], index: int, *, slack: bool) -> None:
    start = found[index].start
    for number in read.windows_of[index]:
        window = read.windows[number]
        if window.job != index or window.after is None:
            continue
        place, other = known.get(window.after), found.get(window.after)
        end = [place.end, place.end] if place is not None else other.end if other is not None else None
        if end is not None:
            least, most = _span(window, slack=slack)
            start[0] = max(start[0], end[0] + least)
            start[1] = start[1] if most is None else min(start[1], end[1] + most)


def _backward(read: Structure, known: Mapping[int, Place], found: dict[int, Limit], index: int, *, slack: bool) -> None:
    end = found[index].end
    for number in read.windows_of[index]:
        window = read.windows[number]
        if window.after != index:
            continue
        place, other = known.get(window.job), found.get(window.job)
        start = [place.start, place.start] if place is not None else other.start if other is not None else None
        if start is not None:
            least, most = _span(window, slack=slack)
            end[0] = end[0] if most is None else max(end[0], start[0] - most)
            end[1] = min(end[1], start[1] - least)
