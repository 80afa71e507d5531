"""Large-neighbourhood search: some batches are placed afresh while the rest stays where it is."""

import random
from collections import defaultdict
from collections.abc import Iterator

from orchestrator.planner.problem import Place, Problem, Schedule
from orchestrator.planner.structure import Structure, structure

FEWEST, MOST = 3, 13
"""Batches and orders freed at once."""


def groups(problem: Problem) -> list[list[int]]:
    """Jobs that belong together: one batch, or the work for one order. A job's id begins with its lot or order."""
    found: dict[str, list[int]] = defaultdict(list)
    for index, job in enumerate(problem.jobs):
        found[job.id.split(".")[0]].append(index)
    return [jobs for jobs in found.values() if any(problem.jobs[job].fixed is None for job in jobs)]


class Neighbourhoods:
    """Which jobs to free next, and how many batches at once: more after a proven round, fewer after a vain one."""

    def __init__(self, problem: Problem, seed: int) -> None:
        """Read the problem's groups."""
        self.problem = problem
        self.size = 8
        self._chance = random.Random(seed)
        self._structure: Structure = structure(problem)
        self._groups = groups(problem)
        self._group_of = {job: number for number, jobs in enumerate(self._groups) for job in jobs}
        self._turn = self._turns()

    def _turns(self) -> Iterator[int]:
        """Every group once in random order, again and again."""
        while True:
            order = list(range(len(self._groups)))
            self._chance.shuffle(order)
            yield from order

    @property
    def whole(self) -> bool:
        """Whether a round would free everything: then one model of it all can prove what was found."""
        return self.size >= len(self._groups)

    def held(self, schedule: Schedule) -> dict[int, Place]:
        """Where the jobs stay that are not freed in the next round."""
        first = next(self._turn)
        choose = self._chance.choice((self._near_in_time, self._kin, self._on_same_machines))
        chosen = choose(schedule, first)[: self.size - 1]
        freed = {job for number in {first, *chosen} for job in self._groups[number]}
        # A stay lasts until the next job begins: with either neighbour free, it is free.
        freed |= {follower for job in freed for follower in self._structure.followers[job]} & self._stays()
        freed |= {link.after for job in freed for link in self.problem.jobs[job].after} & self._stays()
        return {i: place for i, place in enumerate(schedule.places) if place is not None and i not in freed}

    def learn(self, proven: bool, found: bool) -> None:
        """Take more batches at once after a proven round, fewer after one that found nothing."""
        if proven:
            self.size = min(MOST, self.size + 1)
        elif not found:
            self.size = max(FEWEST, self.size - 2)

    def _stays(self) -> set[int]:
        return {i for i, job in enumerate(self.problem.jobs) if job.stay}

    def _middle(self, schedule: Schedule, number: int) -> float:
        """Mean start of a group's work."""
        starts = [p.start for job in self._groups[number] if (p := schedule.places[job]) is not None]
        return sum(starts) / len(starts) if starts else float("inf")

    def _near_in_time(self, schedule: Schedule, first: int) -> list[int]:
        middle = self._middle(schedule, first)
        others = [n for n in range(len(self._groups)) if n != first]
        return sorted(others, key=lambda n: abs(self._middle(schedule, n) - middle))

    def _kin(self, schedule: Schedule, first: int) -> list[int]:
        """Groups linked by what they make and take, nearest first; then those near in time."""
        found = [first]
        for number in found:
            for job in self._groups[number]:
                linked = [*self._structure.followers[job], *(link.after for link in self.problem.jobs[job].after)]
                found += {self._group_of[j] for j in linked if j in self._group_of} - set(found)
        return [*found[1:], *(n for n in self._near_in_time(schedule, first) if n not in found)]

    def _on_same_machines(self, schedule: Schedule, first: int) -> list[int]:
        """Groups that use a machine the first one uses, in random order."""
        used = {machine for job in self._groups[first] for machine in self.problem.jobs[job].machines}
        others = [
            number
            for number, jobs in enumerate(self._groups)
            if number != first and used.intersection(m for job in jobs for m in self.problem.jobs[job].machines)
        ]
        self._chance.shuffle(others)
        return others
