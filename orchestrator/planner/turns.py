"""Whose turn it is in serial generation: a group is ready once those it waits for have their places."""

import heapq

from orchestrator.core.models import WindowClass
from orchestrator.planner.imminent import is_imminent
from orchestrator.planner.structure import structure
from orchestrator.planner.wishes import Generation, target

_DAY = 1440
Rank = tuple[int, ...]


class Turns:
    """Groups that have no place yet, best first."""

    def __init__(self, run: Generation, left: set[int]) -> None:
        """Rank all that is left to place."""
        self._run = run
        self.left = left
        self._side = 1 if run.backward else 0
        self._first = sorted((c for c in left if waits_for_facts(run, c)), key=lambda c: (_before(run, c), c))[::-1]
        self._heap: list[tuple[Rank, int]] = []
        beside = run.net.beside
        self._waits = {c: 0 if run.rule == "previous" else len(beside[c][self._side] & left) for c in left}
        for cluster in left:
            if not self._waits[cluster]:
                heapq.heappush(self._heap, (_rank(run, cluster), cluster))

    def take(self) -> tuple[int | None, bool]:
        """The next group, none if all have had their turn; and whether it must come before what can still wait."""
        while self._first:
            begun = self._first.pop()
            if begun in self.left:
                self.leave({begun})
                return begun, True
        cluster = self._best()
        if cluster is None:
            return None, False
        self.leave({cluster})
        return cluster, False

    def leave(self, clusters: set[int]) -> None:
        """These have their place, or none: those that waited for them are ready."""
        other = 1 - self._side
        for cluster in sorted(clusters & self.left):
            self.left.discard(cluster)
            for waiting in self._run.net.beside[cluster][other] if self._run.rule != "previous" else ():
                if waiting in self.left:
                    self._waits[waiting] -= 1
                    if not self._waits[waiting]:
                        heapq.heappush(self._heap, (_rank(self._run, waiting), waiting))

    def _best(self) -> int | None:
        while self._heap:
            rank, cluster = heapq.heappop(self._heap)
            if cluster not in self.left:
                continue
            now = _rank(self._run, cluster)
            if now <= rank:
                return cluster
            # What follows it has been moved since: it queues again.
            heapq.heappush(self._heap, (now, cluster))
        # Groups that wait for each other in a ring.
        return min(self.left, key=lambda c: (_rank(self._run, c), c), default=None)


def waits_for_facts(run: Generation, cluster: int) -> bool:
    """Food already made must go on soon, by a safety window: it takes its place before anything that can still wait."""
    jobs = run.problem.jobs
    lags = (lag for job in run.net.clusters[cluster] for lag in run.net.into[job])
    return any(
        lag.window is WindowClass.SAFETY and lag.most is not None and lag.most <= _DAY // 4
        for lag in lags
        if lag.stay is None and jobs[lag.before].fixed is not None
    )


def _rank(run: Generation, cluster: int) -> Rank:
    members = run.net.clusters[cluster]
    if run.rule == "previous":
        # What people are getting ready for takes its place first.
        ready = any(is_imminent(run.problem, job) for job in members)
        return not ready, _before(run, cluster)
    if run.rule == "backwards, latest first":
        return (-max(target(run, job) for job in members),)
    if run.rule == "backwards, allergens last":
        # Of a day's runs those with most allergens are placed first, last in time: none drops from run to run.
        latest = max(target(run, job) for job in members)
        families = (run.problem.jobs[job].family for job in members)
        return -(latest // _DAY), -max((len(f.allergens) for f in families if f), default=0), -latest
    if run.rule == "backwards, by due":
        reach, dues = structure(run.problem).reach, run.problem.dues
        turns = (dues[d].due - run.sooner.get(d, 0) for job in members for d in reach[job])
        return (min(turns, default=run.problem.horizon),)
    return (min(run.ideal.get(job, 0) for job in members),)


def _before(run: Generation, cluster: int) -> int:
    """Where the plan before had a group; where a new one would best be."""
    found = []
    for job in run.net.clusters[cluster]:
        place = run.problem.previous[job] if run.problem.previous else None
        found.append(run.ideal.get(job, 0) if place is None else place.start)
    return min(found)
