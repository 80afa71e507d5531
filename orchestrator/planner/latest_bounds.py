"""Starts later than which no plan at all could keep what the present one keeps: links, dues, shifts and stops alone.

Whatever else stands on machines and in stores only makes them earlier. So a start that was found, and is as late as
this, is the latest there is; of one that is earlier nobody knows.
"""

from collections.abc import Mapping

from orchestrator.core.models import WindowClass
from orchestrator.planner import bits
from orchestrator.planner.lags import Bounds, Network, bounds, network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.rooms import union
from orchestrator.planner.score import lateness, score
from orchestrator.planner.slots import Slots
from orchestrator.planner.structure import portion_at, structure

_SWEEPS = 2
"""From what follows to what it follows, and back by windows: mostly nothing is found after the first."""


def latest_at_all(problem: Problem, schedule: Schedule) -> dict[int, int]:
    """Upper bounds of the starts of all work in plans that leave no order later than a schedule has it.

    Args:
        problem: Whose work.
        schedule: An order that is late in it may stay as late as it is.

    Returns:
        By number of the job. Where no minute is left, the bound is below the earliest start.
    """
    net = _strict(problem)
    fixed = {i: job.fixed.start for i, job in enumerate(problem.jobs) if job.fixed is not None and not job.stay}
    _, high = bounds(net, fixed)
    for due, late in zip(problem.dues, lateness(problem, schedule), strict=True):
        for job in due.jobs if late is not None else ():
            if job in high:
                high[job] = min(high[job], due.due + (late or 0) - problem.jobs[job].shortest)
    free = Slots(problem)
    there = {job: _starts(problem, free, job) for job in net.free_jobs()}
    for _ in range(_SWEEPS):
        for job in reversed(net.order):
            for lag in net.out[job]:
                high[job] = min(high[job], high[lag.job] - lag.least - problem.jobs[job].shortest)
            if job in there:
                last = bits.last(there[job], high[job])
                high[job] = problem.now - 1 if last is None else last
        for job in net.order:
            for lag in net.into[job]:
                most = net.most(lag)
                if most is not None and lag.before in there:
                    high[job] = min(high[job], high[lag.before] + problem.jobs[lag.before].longest + most)
    return high


def is_shut_out(problem: Problem, order: str) -> bool:
    """Whether links, windows, shifts and stops alone leave an order no time before it is due, whatever else is planned.

    Args:
        problem: With the order among its dues.
        order: Its id.
    """
    net, reach = _strict(problem), structure(problem).reach
    number = next(n for n, due in enumerate(problem.dues) if due.order == order)
    fixed = {i: job.fixed.start for i, job in enumerate(problem.jobs) if job.fixed is not None and not job.stay}
    low, high = bounds(net, fixed)
    for job in problem.dues[number].jobs:
        if job in high and job not in fixed:
            high[job] = min(high[job], problem.dues[number].due - problem.jobs[job].shortest)
    free = Slots(problem)
    there = {job: _starts(problem, free, job) for job in net.free_jobs() if number in reach[job]}
    mine = [job for job in net.order if job in there]
    for _ in range(_SWEEPS):
        for job in reversed(mine):
            _carry_back(net, job, (low, high), there)
        for job in mine:
            _carry_on(net, job, (low, high), there)
        if any(low[job] > high[job] for job in mine):
            return True
    return False


def _carry_back(net: Network, job: int, limits: Bounds, there: Mapping[int, int]) -> None:
    """Narrow a job's starts by what follows it."""
    (low, high), made = limits, net.problem.jobs[job]
    for lag in net.out[job]:
        if lag.job in there:
            most = net.most(lag)
            high[job] = min(high[job], high[lag.job] - lag.least - made.shortest)
            low[job] = low[job] if most is None else max(low[job], low[lag.job] - most - made.longest)
    _fall_in(job, limits, there)


def _carry_on(net: Network, job: int, limits: Bounds, there: Mapping[int, int]) -> None:
    """Narrow a job's starts by what it follows."""
    low, high = limits
    for lag in net.into[job]:
        if lag.before in there:
            made, most = net.problem.jobs[lag.before], net.most(lag)
            low[job] = max(low[job], low[lag.before] + made.shortest + lag.least)
            high[job] = high[job] if most is None else min(high[job], high[lag.before] + made.longest + most)
    _fall_in(job, limits, there)


def _fall_in(job: int, limits: Bounds, there: Mapping[int, int]) -> None:
    """Its first and last start that people and machines are there for; crossed where there is none."""
    low, high = limits
    first, last = bits.first(there[job], low[job]), bits.last(there[job], high[job])
    low[job] = high[job] + 1 if first is None else first
    high[job] = low[job] - 1 if last is None else last


def _strict(problem: Problem) -> Network:
    """The lags with all windows but preferences, which keep no start from being good."""
    net = network(problem)
    net.relaxed |= {lag.key for lags in net.into.values() for lag in lags if lag.window is WindowClass.PREFERENCE}
    net.relaxed |= {
        (a.job, a.stay) for anchors in net.anchors.values() for a in anchors if a.window is WindowClass.PREFERENCE
    }
    return net


def is_sure(problem: Problem, schedule: Schedule) -> bool:
    """Whether the bounds hold: where windows are broken already, a plan could mend one and break another."""
    return score(problem, schedule).breaks == 0


def _starts(problem: Problem, free: Slots, job: int) -> int:
    """Minutes at which people and machines are there for a job, if nothing else is to be done."""
    made, found = problem.jobs[job], 0
    everywhere = bits.span(0, problem.horizon + 1)
    for minutes, machines in made.by_minutes:
        there = 0 if machines else everywhere
        for machine in machines:
            unstopped = everywhere & ~union(problem.machines[machine].stops)
            there |= bits.runs(unstopped, minutes)
        for portion in range(len(made.portions)):
            start, end = portion_at(made, portion, minutes)
            if end > start:
                there &= free.attended(made.workers, made.hands, end - start) >> start
        found |= there
    return found
