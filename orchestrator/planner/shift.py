"""A schedule with some of its work moved by a few minutes, all else where it is: to see what that would break."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from orchestrator.planner.problem import CleanDown, Place, Problem, Schedule
from orchestrator.planner.structure import structure


@dataclass(frozen=True, slots=True)
class Movers:
    """What moves: jobs, and clean-downs by their position in the schedule."""

    jobs: frozenset[int] = field(default_factory=frozenset)
    cleans: frozenset[int] = field(default_factory=frozenset)

    def joined(self, other: "Movers") -> "Movers":
        """Both together."""
        return Movers(self.jobs | other.jobs, self.cleans | other.cleans)


def moved(problem: Problem, schedule: Schedule, movers: Movers, minutes: int) -> Schedule:
    """Move work and clean-downs; stays begin as before where their food comes, and end where it is taken.

    Args:
        problem: What was asked.
        schedule: Where everything is.
        movers: Work and clean-downs that move.
        minutes: By how many, negative for earlier.

    Returns:
        The schedule that results. It need not keep the rules.
    """
    places = list(schedule.places)
    for job in movers.jobs:
        place = places[job]
        if place is not None and not problem.jobs[job].stay:
            places[job] = replace(place, start=place.start + minutes, end=place.end + minutes)
    for stay in stays_round(problem, movers.jobs):
        places[stay] = _stay(problem, places, stay)
    cleans = tuple(_clean(clean, minutes if k in movers.cleans else 0) for k, clean in enumerate(schedule.cleans))
    return replace(schedule, places=tuple(places), cleans=cleans, terms=())


def stays_round(problem: Problem, jobs: Iterable[int]) -> list[int]:
    """Stays that these jobs fill or take from."""
    found: dict[int, None] = {}
    followers = structure(problem).followers
    for job in jobs:
        beside = [link.after for link in problem.jobs[job].after] + list(followers[job])
        found |= {other: None for other in beside if problem.jobs[other].stay}
    return list(found)


def fillers(problem: Problem, stay: int) -> list[int]:
    """Jobs whose end begins a stay."""
    return [link.after for link in problem.jobs[stay].after if link.most == 0]


def takers(problem: Problem, stay: int) -> list[int]:
    """Jobs whose start ends a stay."""
    followers = structure(problem).followers[stay]
    return [f for f in followers if any(li.after == stay and li.most == 0 for li in problem.jobs[f].after)]


def _stay(problem: Problem, places: list[Place | None], stay: int) -> Place | None:
    place, job = places[stay], problem.jobs[stay]
    if place is None:
        return None
    fills = [before.end for filler in fillers(problem, stay) if (before := places[filler]) is not None]
    start = max(fills) if fills and job.fixed is None else place.start
    taken = [after.start for taker in takers(problem, stay) if (after := places[taker]) is not None]
    end = min(taken) if taken else min(start + job.longest, problem.horizon)
    # Food of the past has left its place: that is a fact, whoever was to take it.
    known = job.fixed is not None and job.fixed.end is not None
    return place if known else replace(place, start=start, end=max(start, end))


def _clean(clean: CleanDown, minutes: int) -> CleanDown:
    return replace(clean, start=clean.start + minutes, end=clean.end + minutes) if minutes else clean
