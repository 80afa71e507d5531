"""Where the work of a group would best go, by each rule of serial generation."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from orchestrator.planner.clusters import Wish
from orchestrator.planner.lags import Lag, Network
from orchestrator.planner.placer import Placer
from orchestrator.planner.problem import Problem

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
    sooner: Mapping[int, int] = field(default_factory=dict)
    """Orders that have their turn as if they were due so many minutes sooner."""
    urgent: list[int] = field(default_factory=list)
    """Groups that had to make way, in order."""

    @property
    def backward(self) -> bool:
        """Whether consumers are placed before what they consume."""
        return self.rule.startswith("backwards")


def slack(lag: Lag) -> int:
    """Minutes that what is kept should lie longer than its least."""
    if lag.stay is None:
        return 0
    room = 4 * SLACK_MIN if lag.most is None else lag.most - lag.least
    return min(SLACK_MIN, room // 4)


def ideal_starts(run: Generation) -> dict[int, int]:
    """Latest good start of each job as if there were room for all of them."""
    for job in reversed(run.net.order):
        run.ideal[job] = target(run, job)
    return run.ideal


def target(run: Generation, job: int) -> int:
    """Latest good start, given those of what follows; 0, as soon as may be, if nothing does."""
    minutes = run.problem.jobs[job].shortest
    ends = [run.net.due[job] - DUE_MARGIN_MIN] if job in run.net.due else []
    for lag in run.net.out[job]:
        start = run.placer.starts.get(lag.job, run.ideal.get(lag.job, 0))
        ends.append(start - lag.least - slack(lag))
    return max(run.problem.jobs[job].release, min(ends) - minutes) if ends else 0


def late(run: Generation) -> Wish:
    """As late as good: what follows has its place, or where it would best be."""
    return lambda job, _low, high: (min(target(run, job), high), True)


def soon(_job: int, low: int, _high: int) -> tuple[int, bool]:
    """As soon as may be."""
    return low, False


def close(run: Generation) -> Wish:
    """The first of a group as late as good, the others right after it."""
    latest = late(run)

    def closely(job: int, low: int, high: int) -> tuple[int, bool | None]:
        first = run.net.clusters[run.net.cluster_of[job]][0]
        return latest(job, low, high) if job == first else soon(job, low, high)

    return closely


def as_before(run: Generation) -> Wish:
    """Where the plan before had it, or as near to that as may be."""
    new = close(run)

    def nearest(job: int, low: int, high: int) -> tuple[int, bool | None]:
        place = run.problem.previous[job] if run.problem.previous else None
        return new(job, low, high) if place is None else (place.start, None)

    return nearest


def wish(run: Generation, *, urgent: bool) -> Wish:
    """Where the jobs of a group would best go; what is urgent goes as late as good, but closely together."""
    if run.rule == "previous":
        return as_before(run)
    if urgent or run.rule == "forwards, as late as good":
        return close(run)
    return soon if run.rule == "forwards, earliest" else late(run)
