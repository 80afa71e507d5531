"""Large-neighbourhood search: which jobs are placed afresh next, while the rest stays where it is."""

import random
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import lateness, sunk
from orchestrator.planner.score_food import MARGIN_MIN, MARGIN_PER_MIN, READY_EARLY_PER_MIN, free_wait, fresh_price
from orchestrator.planner.structure import Structure, span, structure

FEWEST, MOST = 8, 40
"""Work freed at once."""
FIRST = 14
KINDS = ("near in time", "on the same machines", "kin", "same hours")
FADES = 0.85
"""How much of what is known about a kind is still believed after its next round."""
LEAST_SHARE = 0.08
"""Of the rounds, for a kind that has not succeeded lately: what is vain now may help later."""


def groups(problem: Problem) -> list[list[int]]:
    """Jobs that belong together: one batch, or the work for one order. A job's id begins with its lot or order."""
    found: dict[str, list[int]] = defaultdict(list)
    for index, job in enumerate(problem.jobs):
        found[job.id.split(".")[0]].append(index)
    return [jobs for jobs in found.values() if any(problem.jobs[job].fixed is None for job in jobs)]


@dataclass(frozen=True, slots=True)
class Neighbourhood:
    """Jobs to be placed afresh."""

    kind: str
    freed: frozenset[int]
    wanted: frozenset[int] = frozenset()
    """Orders without a place, by position, that may find one."""


class Neighbourhoods:
    """Chooses jobs around what costs most, in the ways that have helped lately.

    More of them after a proven round, fewer after one that was cut short.
    """

    def __init__(self, problem: Problem, seed: int) -> None:
        """Read the problem's groups."""
        self.problem = problem
        self.size = FIRST
        self._chance = random.Random(seed)
        self._read: Structure = structure(problem)
        self._groups = groups(problem)
        self._group_of = {job: number for number, jobs in enumerate(self._groups) for job in jobs}
        self._success = dict.fromkeys(KINDS, 1.0)
        self._again: frozenset[int] = frozenset()
        self._work = frozenset(i for i, job in enumerate(problem.jobs) if not job.stay and job.fixed is None)

    def choose(self, schedule: Schedule) -> Neighbourhood:
        """What to free next.

        Args:
            schedule: Where everything is now; an order without a place comes before all else.
        """
        if self._again and all(schedule.places[job] is not None for job in self._again):
            freed, self._again = self._again, frozenset()
            return Neighbourhood("again", self._with_stays(schedule, freed))
        late = lateness(self.problem, schedule)
        missing = [number for number, minutes in enumerate(late) if minutes is None]
        (kind,) = self._chance.choices(KINDS, [max(LEAST_SHARE, self._success[kind]) for kind in KINDS])
        if missing:
            wanted = self._chance.choice(missing)
            first = set(self._unplaced(schedule, wanted))
            return self._around(kind, schedule, first, frozenset({wanted}))
        return self._around(kind, schedule, self._supplied(self._groups[self._first(schedule)]), frozenset())

    def again(self, jobs: Iterable[int]) -> None:
        """Free these next: they had better places in a plan that came too late to be kept."""
        moved = self._work.intersection(jobs)
        self._again = moved if len(moved) <= MOST else frozenset()

    def learn(self, kind: str, *, better: bool, proven: bool) -> None:
        """Remember how a round of this kind went."""
        if kind in self._success:
            self._success[kind] = FADES * self._success[kind] + (1 - FADES) * better
        self.size = min(MOST, self.size + 1) if proven else max(FEWEST, self.size - 2)

    # Where to begin

    def _first(self, schedule: Schedule) -> int:
        """A group by chance, likelier the more it costs; every fifth time any."""
        if self._chance.random() < 0.2:
            return self._chance.randrange(len(self._groups))
        costs = [0.0] * len(self._groups)
        for job, cost in _costs(self.problem, self._read, schedule):
            if job in self._group_of:
                costs[self._group_of[job]] += cost
        if not any(costs):
            return self._chance.randrange(len(self._groups))
        (number,) = self._chance.choices(range(len(self._groups)), costs)
        return number

    def _supplied(self, jobs: list[int]) -> set[int]:
        """A group with those that it takes from: an order alone, handed over from a freezer, has little to choose."""
        before = {link.after for job in jobs for link in self.problem.jobs[job].after}
        numbers = {self._group_of[job] for job in before if job in self._group_of}
        return {*jobs, *(job for number in numbers for job in self._groups[number])}

    def _unplaced(self, schedule: Schedule, wanted: int) -> list[int]:
        """Jobs without a place that an order needs, and what hangs on them alone."""
        places, reach = schedule.places, self._read.reach
        found = [j for j in self._read.order if places[j] is None and wanted in reach[j]]
        for job in found:
            found += [f for f in self._read.followers[job] if places[f] is None and not reach[f] and f not in found]
        return found

    # What to free with it

    def _around(self, kind: str, schedule: Schedule, first: set[int], wanted: frozenset[int]) -> Neighbourhood:
        freed = set(first)
        candidates = {
            "near in time": self._near_in_time,
            "on the same machines": self._on_same_machines,
            "kin": self._kin,
            "same hours": self._same_hours,
        }[kind]
        for jobs in candidates(schedule, first):
            if len(self._work & freed) >= self.size:
                break
            freed |= {job for job in jobs if schedule.places[job] is not None}
        return Neighbourhood(kind, self._with_stays(schedule, freed), wanted)

    def _with_stays(self, schedule: Schedule, freed: Iterable[int]) -> frozenset[int]:
        """A stay lasts until the next job begins: with either neighbour free, it is free."""
        jobs = set(freed)
        beside = {f for job in jobs for f in self._read.followers[job]}
        beside |= {link.after for job in jobs for link in self.problem.jobs[job].after}
        return frozenset(jobs | {i for i in beside if self.problem.jobs[i].stay and schedule.places[i] is not None})

    def _middle(self, schedule: Schedule, jobs: Iterable[int]) -> float:
        """Mean start of some work; of work without a place, when it is due."""
        starts = [p.start for job in jobs if job in self._work and (p := schedule.places[job]) is not None]
        if starts:
            return sum(starts) / len(starts)
        dues = [self.problem.dues[due].due for job in jobs for due in self._read.reach[job]]
        return min(dues, default=self.problem.horizon)

    def _near_in_time(self, schedule: Schedule, first: set[int]) -> list[list[int]]:
        """Groups, those first whose work lies about the same time."""
        middle = self._middle(schedule, first)
        return sorted(self._groups, key=lambda jobs: abs(self._middle(schedule, jobs) - middle))

    def _kin(self, schedule: Schedule, first: set[int]) -> list[list[int]]:
        """Groups linked by what they make and take, nearest first; then those near in time."""
        found = list(dict.fromkeys(self._group_of[job] for job in first if job in self._group_of))
        for number in found:
            for job in self._groups[number]:
                linked = [*self._read.followers[job], *(link.after for link in self.problem.jobs[job].after)]
                found += {self._group_of[j] for j in linked if j in self._group_of} - set(found)
        return [*(self._groups[number] for number in found), *self._near_in_time(schedule, first)]

    def _on_same_machines(self, schedule: Schedule, first: set[int]) -> list[list[int]]:
        """Groups that use a machine the first one uses, those likelier that are near in time; then all others."""
        used = {machine for job in first & self._work for machine in self.problem.jobs[job].machines}
        middle = self._middle(schedule, first)
        others = [g for g in self._groups if used.intersection(m for job in g for m in self.problem.jobs[job].machines)]
        near = {id(g): abs(self._middle(schedule, g) - middle) * self._chance.random() for g in others}
        return [*sorted(others, key=lambda g: near[id(g)]), *self._near_in_time(schedule, first)]

    def _same_hours(self, schedule: Schedule, first: set[int]) -> list[list[int]]:
        """Single work of any group that lies next to one piece of the first."""
        work = sorted(first & self._work)
        place = schedule.places[self._chance.choice(work)] if work else None
        middle = place.start if place is not None else self._middle(schedule, first)
        starts = [(abs(p.start - middle), job) for job in self._work if (p := schedule.places[job]) is not None]
        return [[job] for _, job in sorted(starts)]


def _costs(problem: Problem, read: Structure, schedule: Schedule) -> list[tuple[int, float]]:
    """What each job costs by the first goal that is not met: broken windows, lateness, or else freshness."""
    broken = [
        (window.job, float(by))
        for window in read.windows
        if window.window is WindowClass.QUALITY and (minutes := span(window, schedule.places)) is not None
        if (by := window.missed_by(minutes)) > 0
    ]
    late = [
        (job, float(due.weight * left))
        for number, (due, minutes) in enumerate(zip(problem.dues, lateness(problem, schedule), strict=True))
        if minutes and (left := minutes - sunk(problem, number, minutes)) > 0
        for job in due.jobs
    ]
    return broken or late or _stale(problem, read, schedule)


def _stale(problem: Problem, read: Structure, schedule: Schedule) -> list[tuple[int, float]]:
    found: list[tuple[int, float]] = []
    for due in problem.dues:
        for job in due.jobs:
            place = schedule.places[job]
            spare = 0 if place is None else due.due - MARGIN_MIN - place.end
            found.append((job, float(max(READY_EARLY_PER_MIN * spare, -MARGIN_PER_MIN * spare))))
    for index in read.fresh:
        place, stay = schedule.places[index], problem.jobs[index]
        if place is not None:
            over = max(0, place.end - place.start - free_wait(stay))
            found.append((index, float(fresh_price(stay) * over)))
    return found
