"""What follows what, seen from work alone: a stay between two jobs is a lag with a least and a most."""

from collections import OrderedDict, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Problem

CLUSTER_MIN = 1440
"""Jobs that must follow each other within so many minutes are placed together: a day, so that the night
between two shifts is looked at before the first of them is placed."""


@dataclass(frozen=True, slots=True)
class Lag:
    """``job`` starts between ``least`` and ``most`` minutes after ``before`` ends."""

    before: int
    job: int
    least: int
    most: int | None
    window: WindowClass
    stay: int | None = None
    """The stay that fills the time between."""
    life: bool = False
    """What is left of a shelf life, beside any other window between the two."""

    @property
    def key(self) -> tuple[int, int]:
        """By which it is given up: a window between two jobs does not take a life between the same two with it."""
        return self.job, ~self.before if self.life else self.before


@dataclass(frozen=True, slots=True)
class Anchor:
    """``job`` ends a stay that is there already: it starts between these minutes."""

    job: int
    stay: int
    low: int
    high: int | None
    window: WindowClass


@dataclass(slots=True)
class Network:
    """Lags by job, in both directions, and what hangs together."""

    problem: Problem
    into: dict[int, list[Lag]] = field(default_factory=lambda: defaultdict(list))
    out: dict[int, list[Lag]] = field(default_factory=lambda: defaultdict(list))
    anchors: dict[int, list[Anchor]] = field(default_factory=lambda: defaultdict(list))
    takers: dict[int, list[Anchor]] = field(default_factory=lambda: defaultdict(list))
    """Anchors by the stay that they end."""
    rests: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    """Stays that nobody ends, by the job that fills them."""
    order: list[int] = field(default_factory=list)
    """Work so that each comes after all it follows."""
    rank: dict[int, int] = field(default_factory=dict)
    """Position of each in that order."""
    clusters: list[list[int]] = field(default_factory=list)
    """Work to be placed, grouped; inside a group in order."""
    cluster_of: dict[int, int] = field(default_factory=dict)
    beside: list[tuple[frozenset[int], frozenset[int]]] = field(default_factory=list)
    """Of each group: those that come right before it, and right after it."""
    due: dict[int, int] = field(default_factory=dict)
    """Of each last job of an order: when it is due."""
    relaxed: set[tuple[int, int]] = field(default_factory=set)
    """(job, what it follows) of those windows whose most can no longer be kept; see `Lag.key`."""

    def free_jobs(self) -> list[int]:
        """Work that may still be placed, in order."""
        return [job for job in self.order if self.problem.jobs[job].fixed is None]

    def downstream(self, jobs: list[int]) -> set[int]:
        """These jobs and all that follows them."""
        found, queue = set(jobs), list(jobs)
        while queue:
            for lag in self.out[queue.pop()]:
                if lag.job not in found:
                    found.add(lag.job)
                    queue.append(lag.job)
        return found

    def most(self, lag: Lag) -> int | None:
        """The most of a lag, unless it has been given up."""
        return None if lag.key in self.relaxed else lag.most


_KEPT = 8
_read: OrderedDict[tuple[int, int, int], Network] = OrderedDict()
"""The last few networks by the identity of what they were read from, as in `structure`: a repair asks a dozen times."""


def network(problem: Problem) -> Network:
    """A problem's precedences, with all their windows still to be kept."""
    key = (id(problem.jobs), id(problem.dues), problem.horizon)
    if key not in _read:
        _read[key] = _network(problem)
        while len(_read) > _KEPT:
            _read.popitem(last=False)
    return replace(_read[key], problem=problem, relaxed=set())


def _network(problem: Problem) -> Network:
    net = Network(problem)
    ends: dict[int, list[int]] = defaultdict(list)
    for index, job in enumerate(problem.jobs):
        for link in job.after:
            if problem.jobs[link.after].stay and not job.stay:
                ends[link.after].append(index)
    for index, job in enumerate(problem.jobs):
        if job.stay:
            _read_stay(net, index, ends[index])
            continue
        for link in job.after:
            if not problem.jobs[link.after].stay:
                _add(net, Lag(link.after, index, link.least, link.most, link.window, life=link.life))
    net.order = _topological(net)
    net.rank = {job: position for position, job in enumerate(net.order)}
    _group(net)
    net.beside = [_beside(net, cluster) for cluster in range(len(net.clusters))]
    for due in problem.dues:
        net.due |= {last: min(due.due, net.due.get(last, due.due)) for last in due.jobs}
    return net


def _add(net: Network, lag: Lag) -> None:
    net.into[lag.job].append(lag)
    net.out[lag.before].append(lag)


def _read_stay(net: Network, index: int, consumers: list[int]) -> None:
    job, horizon = net.problem.jobs[index], net.problem.horizon
    most = None if job.longest >= horizon else job.longest
    if job.fixed is not None:
        for consumer in consumers if job.fixed.end is None else ():
            high = None if most is None else job.fixed.start + most
            low = job.fixed.start + job.shortest
            anchor = Anchor(consumer, index, low, high, job.stay_window)
            net.anchors[consumer].append(anchor)
            net.takers[index].append(anchor)
        return
    for link in job.after:
        fills = link.most == 0
        for consumer in consumers:
            stay = index if fills else None
            _add(net, Lag(link.after, consumer, job.shortest, most if fills else None, job.stay_window, stay))
        if not consumers and fills:
            net.rests[link.after].append(index)


def _topological(net: Network) -> list[int]:
    work = [i for i, job in enumerate(net.problem.jobs) if not job.stay]
    waiting = {job: len(net.into[job]) for job in work}
    ready = [job for job in work if waiting[job] == 0]
    for job in ready:
        for lag in net.out[job]:
            waiting[lag.job] -= 1
            if waiting[lag.job] == 0:
                ready.append(lag.job)
    return ready


def _group(net: Network) -> None:
    leader = {job: job for job in net.free_jobs()}

    def find(job: int) -> int:
        while leader[job] != job:
            job = leader[job]
        return job

    for job in leader:
        for lag in net.into[job]:
            if lag.before in leader and lag.most is not None and lag.most <= CLUSTER_MIN:
                leader[find(job)] = find(lag.before)
    groups: dict[int, list[int]] = defaultdict(list)
    for job in net.free_jobs():
        groups[find(job)].append(job)
    for number, members in enumerate(groups.values()):
        net.clusters.append(members)
        net.cluster_of |= dict.fromkeys(members, number)


def _beside(net: Network, cluster: int) -> tuple[frozenset[int], frozenset[int]]:
    before = {net.cluster_of.get(lag.before, cluster) for job in net.clusters[cluster] for lag in net.into[job]}
    after = {net.cluster_of.get(lag.job, cluster) for job in net.clusters[cluster] for lag in net.out[job]}
    return frozenset(before - {cluster}), frozenset(after - {cluster})


Bounds = tuple[dict[int, int], dict[int, int]]
NOTHING_PLACED: Mapping[int, int] = {}


def bounds(
    net: Network,
    starts: dict[int, int],
    around: Iterable[int] | None = None,
    lengths: Mapping[int, int] = NOTHING_PLACED,
) -> Bounds:
    """Earliest and latest start of every job, given where some are.

    Args:
        net: The lags.
        starts: Starts of the work already placed, fixed work included.
        around: Only of these jobs and of those that hang together with them through work without a place.
        lengths: Minutes of the work already placed, where its machine decides; otherwise anything it may last counts.

    Returns:
        Two maps by job. Low above high means that these starts leave the job no room.
    """
    problem = net.problem
    low, high = {}, {}
    jobs = net.order if around is None else _hanging_together(net, starts, around)
    for job in jobs:
        if job in starts:
            low[job] = high[job] = starts[job]
            continue
        low[job] = max(problem.now, problem.jobs[job].release, *(a.low for a in net.anchors[job]), 0)
        highs = [a.high for a in net.anchors[job] if a.high is not None and (job, a.stay) not in net.relaxed]
        if (latest := problem.jobs[job].latest) is not None:
            highs.append(latest)
        high[job] = min([problem.horizon - problem.jobs[job].shortest, *highs])
    tighten(net, [job for job in jobs if job not in starts], lengths, (low, high))
    return low, high


def tighten(net: Network, jobs: list[int], lengths: Mapping[int, int], limits: Bounds) -> None:
    """Carry bounds over the lags of these jobs, in their order, until nothing changes."""
    low, high = limits
    lasts = {job: _lasts(net, job, lengths) for job in low}
    for _ in range(6):
        if not _sweep(net, jobs, lasts, low, high):
            break


def _hanging_together(net: Network, starts: dict[int, int], around: Iterable[int]) -> list[int]:
    """These jobs, those linked to them through jobs without a place, and the placed ones right beside, in order."""
    found = set(around)
    queue = [job for job in found if job not in starts]
    for job in queue:
        beside = [*(lag.before for lag in net.into[job]), *(lag.job for lag in net.out[job])]
        for other in beside:
            if other not in found:
                found.add(other)
                if other not in starts:
                    queue.append(other)
    return sorted(found, key=net.rank.__getitem__)


def _lasts(net: Network, job: int, lengths: Mapping[int, int]) -> tuple[int, int]:
    """Least and most minutes from a job's start to its end."""
    made = net.problem.jobs[job]
    if made.fixed is not None and made.fixed.end is not None:
        minutes = made.fixed.end - made.fixed.start
        return minutes, minutes
    known = lengths.get(job)
    return (made.shortest, made.longest) if known is None else (known, known)


def _sweep(
    net: Network, jobs: list[int], lasts: dict[int, tuple[int, int]], low: dict[int, int], high: dict[int, int]
) -> bool:
    """Carry bounds over every lag once, forwards and backwards; False if nothing changed."""
    changed = False
    for job in jobs:
        for lag in net.into[job]:
            least, longest = lasts[lag.before]
            most = net.most(lag)
            if low[lag.before] + least + lag.least > low[job]:
                low[job] = low[lag.before] + least + lag.least
                changed = True
            if most is not None and high[lag.before] + longest + most < high[job]:
                high[job] = high[lag.before] + longest + most
                changed = True
    for job in reversed(jobs):
        least, longest = lasts[job]
        for lag in net.out[job]:
            most = net.most(lag)
            if high[lag.job] - lag.least - least < high[job]:
                high[job] = high[lag.job] - lag.least - least
                changed = True
            if most is not None and low[lag.job] - most - longest > low[job]:
                low[job] = low[lag.job] - most - longest
                changed = True
    return changed
