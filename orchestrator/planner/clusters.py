"""Places a group of jobs that must follow each other closely: all of them or none."""

import heapq
from collections.abc import Callable, Iterator

from orchestrator.planner import bits
from orchestrator.planner.lags import Lag, bounds, tighten
from orchestrator.planner.placer import Placer

TRIES = 60
"""Places tried for a group before it counts as having none."""
_NEAR_MIN = 1440
_STEPS = (1, 1, 5, 10, 15, 30, 60, 60, 120, 240, 480)

HASTY_TRIES = 12
"""The same long after patience is over."""

Wish = Callable[[int, int, int], tuple[int, bool | None]]
"""Of a job with its earliest and latest start: the instant wished for, and whether earlier is better than later; none
if the nearest is best."""


class _Search:
    """Depth first, one job of the group after the other."""

    def __init__(self, placer: Placer, members: list[int], wish: Wish, most: int) -> None:
        self.placer, self.members, self.wish = placer, members, wish
        self.low, self.high = bounds(placer.net, placer.starts, members, placer.lengths)
        group = set(members)
        self.lags = [lag for job in members for lag in placer.net.into[job] if lag.before in group]
        """Between the jobs of the group."""
        self.tries, self.most = 0, most

    def run(self, order: list[int]) -> bool:
        if any(self.low[job] > self.high[job] for job in self.members):
            return False
        whole = self.low, self.high
        if self._looks_near(order[0]):
            if self._next(order, self._all_domains(order)):
                return True
            self.low, self.high, self.tries = *whole, 0
        return self._next(order, self._all_domains(order))

    def _looks_near(self, job: int) -> bool:
        """Narrow the bounds to a day beside where the first job would best be, if they are much wider.

        Mostly there is a place: then the rest of the horizon need not be looked at.
        """
        low, high = self.low[job], self.high[job]
        target, early = self.wish(job, low, high)
        before, after = {True: (_NEAR_MIN, 0), False: (0, _NEAR_MIN), None: (_NEAR_MIN, _NEAR_MIN)}[early]
        narrow = max(low, target - before), min(high, target + after)
        if high - low < 3 * _NEAR_MIN or narrow[0] > narrow[1]:
            return False
        limits = {**self.low, job: narrow[0]}, {**self.high, job: narrow[1]}
        tighten(self.placer.net, self.members, self.placer.lengths, limits)
        self.low, self.high = limits
        return all(limits[0][job] <= limits[1][job] for job in self.members)

    def _next(self, order: list[int], domains: dict[int, int] | None) -> bool:
        """Place the first of these jobs, and then the others, within what is known of where they could go."""
        if not order:
            return True
        if domains is None:
            return False
        job, rest = order[0], order[1:]
        target, early = self.wish(job, self.low[job], self.high[job])
        for start in candidates(domains[job], target, early=early):
            self.tries += 1
            if self.tries > self.most:
                return False
            mark = self.placer.journal.mark()
            if self.placer.commit(job, start) and self._next(rest, self._domains(rest, domains)):
                return True
            self.placer.journal.undo(mark)
        return False

    def _all_domains(self, order: list[int]) -> dict[int, int] | None:
        """Where each of the jobs could go, given all that is placed; none if one of them has no place."""
        found: dict[int, int] = {}
        for job in order:
            found[job] = self.placer.domain(job, self.low[job], self.high[job])
            if not found[job]:
                return None
        return self._narrowed(found, order)

    def _domains(self, order: list[int], known: dict[int, int]) -> dict[int, int] | None:
        """Where the jobs left could go now that one more is placed: what is placed only ever takes from a domain.

        The next one's is worked out anew, within what the others leave of it; theirs are when their turn comes.
        """
        if not order:
            return {}
        found = self._narrowed({job: known[job] for job in order}, order)
        if found is None:
            return None
        job = order[0]
        low, high = bits.first(found[job]), found[job].bit_length() - 1
        assert low is not None  # no domain is empty
        found[job] &= self.placer.domain(job, low, high)
        return self._narrowed(found, order)

    def _narrowed(self, domains: dict[int, int], order: list[int]) -> dict[int, int] | None:
        """Domains less what the lags between these jobs, and to those just placed, leave no room for."""
        for _ in range(2):
            for lag in self.lags:
                if lag.before in domains or lag.job in domains:
                    self._narrow(domains, lag)
        return domains if all(domains[job] for job in order) else None

    def _narrow(self, domains: dict[int, int], lag: Lag) -> None:
        """Carry a lag over; an end that has no domain is placed."""
        (least, longest), most = self.placer.lasts(lag.before), self.placer.net.most(lag)
        least, most = least + lag.least, None if most is None else longest + most
        before, job = domains.get(lag.before), domains.get(lag.job)
        if before is None:
            at, until = self.placer.starts[lag.before], self.placer.problem.horizon
            domains[lag.job] &= bits.span(at + least, until if most is None else at + most + 1)
        elif job is None:
            at = self.placer.starts[lag.job]
            domains[lag.before] &= bits.span(0 if most is None else at - most, at - least + 1)
        elif most is None:
            since, until = bits.first(before), job.bit_length() - 1
            domains[lag.job] = 0 if since is None else job & ~bits.span(0, since + least)
            domains[lag.before] = before & bits.span(0, until - least + 1)
        else:
            domains[lag.job] = job = job & bits.spread(before, least, most)
            domains[lag.before] = before & bits.spread(job, -most, -least)


def candidates(domain: int, target: int, *, early: bool | None) -> Iterator[int]:
    """Minutes of a set, nearest to the target first on the better side, then on the other, in growing steps.

    Where neither side is better, by distance.
    """
    if early is None:
        both = (_later(domain, target), _earlier(domain, target - 1))
        yield from heapq.merge(*both, key=lambda minute: abs(minute - target))
        return
    sides = (_earlier, _later) if early else (_later, _earlier)
    for side in sides:
        yield from side(domain, target)


def _earlier(domain: int, target: int) -> Iterator[int]:
    at = bits.last(domain, target)
    for step in _STEPS:
        if at is None:
            return
        yield at
        at = bits.last(domain, at - step)


def _later(domain: int, target: int) -> Iterator[int]:
    at = bits.first(domain, target)
    for step in _STEPS:
        if at is None:
            return
        yield at
        at = bits.first(domain, at + step)


def most_tries(placer: Placer) -> int:
    """How many places may be tried for a group."""
    return HASTY_TRIES if placer.patience.overdrawn else TRIES


def place_cluster(placer: Placer, cluster: int, wish: Wish, *, backward: bool, tries: int = TRIES) -> bool:
    """Place a group of jobs.

    Args:
        placer: Where everything else is; changed only on success.
        cluster: Number of the group.
        wish: Where each job would best go.
        backward: The last job of the group is placed first.
        tries: Places tried, over all its jobs, before it counts as having none.

    Returns:
        True if all of them have a place now.
    """
    members = placer.net.clusters[cluster]
    mark = placer.journal.mark()
    if _Search(placer, members, wish, tries).run(members[::-1] if backward else members):
        return True
    placer.journal.undo(mark)
    return False
