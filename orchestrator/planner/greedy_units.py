"""What iterated greedy search takes out together: units of work, and those worth taking out next."""

import random
from collections import defaultdict
from collections.abc import Mapping

from orchestrator.planner.lags import Network
from orchestrator.planner.placer import Placer
from orchestrator.planner.structure import structure

MOST_UNITS = 7
"""Units taken out at once, at most: with more, a trial seldom finds them all a place that is better."""
Picked = tuple[list[int], list[int]]
"""Units that are put back as one, and others that each are put back by themselves."""
WHERE_IT_SHOULD_BE = 0.7
"""How often what stands in the way of late work is looked for where it would be on time, rather than where it is."""
WINDOWS_MIN = (120, 300, 720, 1440)
"""How far around a late order others are looked for."""


class Units:
    """Groups of work that serve the same orders and hang together: mostly a batch with all its steps."""

    def __init__(self, placer: Placer, chance: random.Random, ideal: Mapping[int, int]) -> None:
        """Read the units of a problem; `ideal` is the latest good start of each job."""
        self._ideal = ideal
        self._placer, self._net, self._chance = placer, placer.net, chance
        self.of_cluster = _unit_of(placer.net, placer)
        members: dict[int, list[int]] = defaultdict(list)
        for cluster, unit in self.of_cluster.items():
            members[unit].append(cluster)
        rank = {c: placer.net.rank[jobs[0]] for c, jobs in enumerate(placer.net.clusters)}
        self.clusters = {unit: sorted(found, key=rank.__getitem__) for unit, found in members.items()}
        """Of each unit, in the order of its work."""
        reach = structure(placer.problem).reach
        self.serves = {
            unit: sorted({d for c in found for job in placer.net.clusters[c] for d in reach[job]})
            for unit, found in self.clusters.items()
        }
        self.of_order: dict[int, list[int]] = defaultdict(list)
        for unit, dues in self.serves.items():
            for due in dues:
                self.of_order[due].append(unit)

    def jobs(self, unit: int) -> list[int]:
        """Work of a unit, in order."""
        return [job for cluster in self.clusters[unit] for job in self._net.clusters[cluster]]

    def due(self, unit: int) -> int:
        """When the first order it serves is due."""
        dues = self._placer.problem.dues
        return min((dues[d].due for d in self.serves[unit]), default=self._placer.problem.horizon)

    def around_order(self, order: int) -> Picked:
        """Units of an order, together, and others that stand in its way."""
        mine = self.of_order[order]
        missing = [u for u in mine if any(job not in self._placer.starts for job in self.jobs(u))]
        chosen = missing or [self._chance.choice(mine)]
        if not missing and self._chance.random() < 0.6:
            chosen = self._chance.sample(mine, min(len(mine), self._chance.randint(2, MOST_UNITS)))
        return self._with_neighbours(sorted(chosen))

    def around_any(self) -> Picked:
        """Any unit, and often some that lie near it."""
        return self.around(self._chance.choice(sorted(self.clusters)))

    def around(self, unit: int) -> Picked:
        """This unit, and often some that lie near it."""
        return self._with_neighbours([unit])

    def in_order(self, units: list[int]) -> list[int]:
        """Clusters of several units, each after what it follows."""
        rank, members = self._net.rank, self._net.clusters
        return sorted((c for unit in units for c in self.clusters[unit]), key=lambda c: rank[members[c][0]])

    def _with_neighbours(self, chosen: list[int]) -> Picked:
        chosen = self._with_what_they_follow(chosen)
        want = self._chance.choice((0, 1, 1, 2, 2, 3, 4, 6))
        near = [unit for unit in self._near(chosen) if self._is_placed(unit)]
        self._chance.shuffle(near)
        return chosen, near[: min(want, max(2, MOST_UNITS - len(chosen)))]

    def _with_what_they_follow(self, chosen: list[int]) -> list[int]:
        """These units, and those without a place that they follow: work shared with another order that was left out."""
        found = list(chosen)
        for unit in found:
            before = {lag.before for job in self.jobs(unit) for lag in self._net.into[job]} - self._placer.starts.keys()
            units = {self.of_cluster[self._net.cluster_of[job]] for job in before if job in self._net.cluster_of}
            found += sorted(units.difference(found))
        return found

    def _is_placed(self, unit: int) -> bool:
        return all(job in self._placer.starts for job in self.jobs(unit))

    def _near(self, chosen: list[int]) -> list[int]:
        """Units with work on a machine that a chosen one uses, at about the time that it is there or should be."""
        jobs = [job for unit in chosen for job in self.jobs(unit) if self._placer.problem.jobs[job].machines]
        if not jobs:
            return []
        job = self._chance.choice(jobs)
        width = self._chance.choice(WINDOWS_MIN)
        due = min(self.due(unit) for unit in chosen)
        here = self._placer.starts.get(job, due - self._chance.randrange(2 * max(WINDOWS_MIN)))
        if self._ideal.get(job, here) < here and self._chance.random() < WHERE_IT_SHOULD_BE:
            here = self._ideal[job]
        low, high = here - width, here + width // 4
        found = {
            self.of_cluster[self._net.cluster_of[other]]
            for machine in self._placer.problem.jobs[job].machines
            for other, use in self._placer.slots.uses[machine].items()
            if use.start < high and use.end > low and other in self._net.cluster_of
        }
        return sorted(found.difference(chosen))


def _unit_of(net: Network, placer: Placer) -> dict[int, int]:
    """Of each cluster, the first one of its unit: clusters next to each other that serve the same orders."""
    reach = structure(placer.problem).reach
    serves = [frozenset(d for job in jobs for d in reach[job]) for jobs in net.clusters]
    unit: dict[int, int] = {}
    for cluster in range(len(net.clusters)):
        queue = [] if cluster in unit else [cluster]
        for here in queue:
            if here in unit:
                continue
            unit[here] = cluster
            beside = net.beside[here][0] | net.beside[here][1]
            queue += sorted(other for other in beside if other not in unit and serves[other] == serves[cluster])
    return unit
