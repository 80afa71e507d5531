"""Serial generation: groups of jobs are placed one after the other, and made way for where they find no place."""

from dataclasses import dataclass, field
from typing import Literal

from orchestrator.core.models import WindowClass
from orchestrator.planner.clusters import Wish, neighbours, place_cluster
from orchestrator.planner.lags import Lag, Network, bounds
from orchestrator.planner.placer import Placer
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.structure import structure

Rule = Literal[
    "backwards, latest first",
    "backwards, by due",
    "backwards, allergens last",
    "forwards, as late as good",
    "forwards, earliest",
]
SLACK_MIN = 240
"""So much longer than its least a stay should last, if its window leaves four times that: room for being late."""
DUE_MARGIN_MIN = 30
"""So long before it is due an order should be ready."""
_DAY = 1440
_MAKE_WAY = 2
"""How often a group may push others aside before its windows, and then its orders, are given up."""


@dataclass(slots=True)
class Generation:
    """One run of serial generation."""

    problem: Problem
    net: Network
    rule: Rule | Literal["previous"]
    placer: Placer
    ideal: dict[int, int] = field(default_factory=dict)
    """Latest start of each job that is still good, machines and people apart."""
    pushed: dict[int, int] = field(default_factory=dict)
    urgent: list[int] = field(default_factory=list)
    """Groups that had to make way, in order."""
    left: set[int] = field(default_factory=set)

    @property
    def backward(self) -> bool:
        """Whether consumers are placed before what they consume."""
        return self.rule.startswith("backwards")


def generate(problem: Problem, net: Network, rule: Rule | Literal["previous"]) -> Schedule:
    """Place everything by one rule.

    Args:
        problem: What is to be placed.
        net: Its lags, from `network`; windows given up are added to it.
        rule: In which order groups are placed and where they would best go.

    Returns:
        A schedule that keeps every hard rule; jobs of orders that cannot be met have no place.
    """
    run = Generation(problem, net, rule, Placer(problem, net))
    give_up_what_has_passed(run)
    run.ideal = _ideal(run)
    run.left = {c for c, members in enumerate(net.clusters) if not run.placer.given_up.intersection(members)}
    for _ in range(60 * (len(net.clusters) + 1)):
        cluster, urgent = _next(run)
        if cluster is None:
            break
        run.left.discard(cluster)
        backward = run.backward and not urgent
        if not place_cluster(run.placer, cluster, _wish(run, urgent=urgent), backward=backward):
            _make_way(run, cluster)
    for cluster in sorted(run.left):
        _give_up(run, cluster)
    _bring_back(run)
    return run.placer.schedule(f"first guess: {rule}" if rule != "previous" else "repair")


def give_up_what_has_passed(run: Generation) -> None:
    """Windows that facts have already closed: quality ones are given up, safety ones take their orders with them."""
    for _ in range(len(run.net.order) + 1):
        low, high = bounds(run.net, run.placer.starts)
        shut = [j for j in run.net.free_jobs() if low[j] > high[j] and j not in run.placer.given_up]
        if not shut:
            return
        if not _relax(run.net, shut[:1]) and not _relax(run.net, sorted(run.net.downstream(shut[:1]))):
            _give_up_jobs(run, shut[:1])


def _relax(net: Network, jobs: list[int]) -> bool:
    """Give up the most of all windows of these jobs but the safety ones; False if there was none."""
    before = len(net.relaxed)
    for job in jobs:
        for lag in net.into[job]:
            if lag.most is not None and lag.window is not WindowClass.SAFETY:
                net.relaxed.add((job, lag.before))
        for anchor in net.anchors[job]:
            if anchor.high is not None and anchor.window is not WindowClass.SAFETY:
                net.relaxed.add((job, anchor.stay))
    return len(net.relaxed) > before


# In which order


def _next(run: Generation) -> tuple[int | None, bool]:
    if run.urgent:
        return run.urgent.pop(0), True
    if not run.left:
        return None, False
    begun = [c for c in run.left if _waits_for_facts(run, c)]
    if begun:
        return min(begun, key=lambda c: (_before(run, c), c)), True
    if run.rule == "previous":
        return min(run.left, key=lambda c: (_before(run, c), c)), False
    side = 1 if run.backward else 0
    ready = [c for c in run.left if not neighbours(run.net, c)[side] & run.left] or sorted(run.left)
    return min(ready, key=lambda c: (_rank(run, c), c)), False


def _waits_for_facts(run: Generation, cluster: int) -> bool:
    """Food already made must go on soon, by a safety window: it takes its place before anything that can still wait."""
    jobs = run.problem.jobs
    lags = (lag for job in run.net.clusters[cluster] for lag in run.net.into[job])
    return any(
        lag.window is WindowClass.SAFETY and lag.most is not None and lag.most <= _DAY // 4
        for lag in lags
        if lag.stay is None and jobs[lag.before].fixed is not None
    )


def _rank(run: Generation, cluster: int) -> int | tuple[int, int, int]:
    members = run.net.clusters[cluster]
    if run.rule == "backwards, latest first":
        return -max(_target(run, job) for job in members)
    if run.rule == "backwards, allergens last":
        # Of a day's runs those with most allergens are placed first, last in time: none drops from run to run.
        target = max(_target(run, job) for job in members)
        families = (run.problem.jobs[job].family for job in members)
        return -(target // _DAY), -max((len(f.allergens) for f in families if f), default=0), -target
    if run.rule == "backwards, by due":
        reach = structure(run.problem).reach
        return min((run.problem.dues[d].due for job in members for d in reach[job]), default=run.problem.horizon)
    return min(run.ideal.get(job, 0) for job in members)


def _before(run: Generation, cluster: int) -> int:
    """Where the plan before had a group; where a new one would best be."""
    found = []
    for job in run.net.clusters[cluster]:
        place = run.problem.previous[job] if run.problem.previous else None
        found.append(run.ideal.get(job, 0) if place is None else place.start)
    return min(found)


# Where they would best go


def _slack(lag: Lag) -> int:
    if lag.stay is None:
        return 0
    room = 4 * SLACK_MIN if lag.most is None else lag.most - lag.least
    return min(SLACK_MIN, room // 4)


def _ideal(run: Generation) -> dict[int, int]:
    for job in reversed(run.net.order):
        run.ideal[job] = _target(run, job)
    return run.ideal


def _target(run: Generation, job: int) -> int:
    """Latest good start, given those of what follows; 0, as soon as may be, if nothing does."""
    minutes = run.problem.jobs[job].shortest
    ends = [due.due - DUE_MARGIN_MIN for due in run.problem.dues if job in due.jobs]
    for lag in run.net.out[job]:
        start = run.placer.starts.get(lag.job, run.ideal.get(lag.job, 0))
        ends.append(start - lag.least - _slack(lag))
    return max(run.problem.jobs[job].release, min(ends) - minutes) if ends else 0


def _wish(run: Generation, *, urgent: bool) -> Wish:
    def late(job: int, low: int, high: int) -> tuple[int, bool]:
        return min(_target(run, job), high), True

    def soon(job: int, low: int, high: int) -> tuple[int, bool]:
        return low, False

    def close(job: int, low: int, high: int) -> tuple[int, bool]:
        """The first of a group as late as good, the others right after it."""
        members = run.net.clusters[run.net.cluster_of[job]]
        return late(job, low, high) if job == members[0] else soon(job, low, high)

    def as_before(job: int, low: int, high: int) -> tuple[int, bool | None]:
        place = run.problem.previous[job] if run.problem.previous else None
        if place is None:
            return close(job, low, high)
        return place.start, None

    if run.rule == "previous":
        return as_before
    if urgent:
        return close
    return {"forwards, earliest": soon, "forwards, as late as good": close}.get(run.rule, late)


# When a group finds no place


def _make_way(run: Generation, cluster: int) -> None:
    """Take out what follows a group, then what comes before it, and try again; at last give up its windows, itself."""
    run.pushed[cluster] = run.pushed.get(cluster, 0) + 1
    if run.pushed[cluster] > _MAKE_WAY + 1:
        _give_up(run, cluster)
        return
    out = _after(run, cluster)
    if run.pushed[cluster] >= _MAKE_WAY:
        out |= neighbours(run.net, cluster)[0]
    if run.pushed[cluster] > _MAKE_WAY:
        _relax(run.net, run.net.clusters[cluster])
    out = {c for c in out if _take_out(run, c)}
    first = place_cluster(run.placer, cluster, _wish(run, urgent=True), backward=False)
    queue = sorted(out, key=lambda c: run.net.order.index(run.net.clusters[c][0]))
    run.urgent = [c for c in run.urgent if c not in out] + queue
    run.left -= out
    if not first:
        if out or run.pushed[cluster] <= _MAKE_WAY:
            run.urgent.insert(0, cluster)
        else:
            _give_up(run, cluster)


def _after(run: Generation, cluster: int) -> set[int]:
    jobs = run.net.downstream(run.net.clusters[cluster])
    return {run.net.cluster_of[job] for job in jobs if job in run.net.cluster_of} - {cluster}


def _take_out(run: Generation, cluster: int) -> bool:
    members = [job for job in run.net.clusters[cluster] if job in run.placer.starts]
    for job in reversed(members):
        run.placer.remove(job)
    return bool(members)


def _give_up(run: Generation, cluster: int) -> None:
    _give_up_jobs(run, run.net.clusters[cluster])


def _give_up_jobs(run: Generation, jobs: list[int]) -> None:
    """Leave out jobs, all that follows them, and whatever only serves orders that are lost with them."""
    shape = structure(run.problem)
    gone = run.net.downstream(jobs)
    unmet = {d for d, due in enumerate(run.problem.dues) if gone.intersection(due.jobs)}
    gone |= {j for j in run.net.free_jobs() if shape.reach[j] and shape.reach[j] <= unmet}
    gone = {job for job in gone if run.problem.jobs[job].fixed is None}
    run.placer.given_up |= gone
    for job in sorted(gone, key=run.net.order.index, reverse=True):
        if job in run.placer.starts:
            run.placer.remove(job)
    lost = {c for c, members in enumerate(run.net.clusters) if gone.intersection(members)}
    for cluster in lost:
        _take_out(run, cluster)
    run.left -= lost
    run.urgent = [c for c in run.urgent if c not in lost]


def _bring_back(run: Generation) -> None:
    """Orders given up on the way may find their places now that all else has its own."""
    shape = structure(run.problem)
    for due in sorted(range(len(run.problem.dues)), key=lambda d: run.problem.dues[d].due):
        if not run.placer.given_up.intersection(run.problem.dues[due].jobs):
            continue
        back = {job for job in run.placer.given_up if due in shape.reach[job]}
        clusters = list(dict.fromkeys(run.net.cluster_of[job] for job in run.net.order if job in back))
        # With all their windows again: those were given up to make way.
        run.net.relaxed = {pair for pair in run.net.relaxed if pair[0] not in back}
        for wish in (_wish(run, urgent=True), lambda _job, low, _high: (low, False)):
            before = run.placer.copy()
            run.placer.given_up -= back
            if all(place_cluster(run.placer, cluster, wish, backward=False) for cluster in clusters):
                break
            run.placer.restore(before)
