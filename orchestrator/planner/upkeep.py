"""What a machine is in before the first run that can still be moved, and what it needs between two runs."""

from bisect import bisect_right
from dataclasses import dataclass
from typing import Literal

from orchestrator.planner.free_time import less, starts
from orchestrator.planner.problem import LONG_AGO, Family, Fixed, Job, Machine, Problem
from orchestrator.planner.structure import fixed_place, portion_span

Need = Literal["", "rinse", "full"]


def needed(before: Family | None, run: Family | None) -> Need:
    """What must lie between two runs: nothing, a rinse or a full clean.

    Args:
        before: What the machine ran last; none if that does not matter.
        run: What it is to run next.

    Returns:
        ``""`` for the same base; ``"rinse"`` when neither an allergen nor depth of colour drops; ``"full"`` when one
        does.
    """
    if before is None or run is None or before.base == run.base:
        return ""
    return "full" if before.drops_to(run) else "rinse"


def day_of(machine: Machine, minute: int) -> int:
    """On which of its days a run that starts at this minute is made."""
    return max(0, bisect_right(machine.days, minute, key=lambda day: day[0]) - 1)


def day_after(problem: Problem, machine: Machine, day: int) -> int:
    """The first minute of the day after; the horizon after the last."""
    return machine.days[day + 1][0] if day + 1 < len(machine.days) else problem.horizon


def allowed_in_use(machine: Machine, minutes: int) -> int:
    """How long after its first run it may still be in use, if a run of so many minutes is among them: a run that alone
    lasts longer is not cut in two."""
    assert machine.every is not None
    return max(machine.every, minutes)


@dataclass(frozen=True, slots=True)
class Condition:
    """What a machine is in before the first run that can still be moved."""

    family: Family | None
    """What it is clean for; none: for anything."""
    ready: int
    """From when on it may be used, cleaned or pre-cooled."""
    cold: int | None
    """When it last ran or was pre-cooled."""
    used: int | None
    """Start of the first run since its last thorough clean."""
    owed: int | None
    """The day whose day-end clean is still to be done, and can be."""
    last: int
    """The run that this clean follows; -1: none."""


def happened(problem: Problem, job: Job) -> bool:
    """Whether a job has begun: it is a fact, not one that can still be moved or is only held in place."""
    fixed: Fixed | None = job.fixed
    if fixed is None:
        return False
    return fixed.begun or fixed.start < problem.now or (fixed.end is not None and fixed.end <= problem.now)


def condition(problem: Problem, index: int) -> Condition:
    """What a machine is in, from the runs and the upkeep that have happened: see `Problem.families_before`."""
    machine = problem.machines[index]
    here = [(i, job, job.fixed) for i, job in enumerate(problem.jobs) if _on(job, index) and happened(problem, job)]
    runs = [(fixed.start, _end(job, fixed), i, job) for i, job, fixed in here if fixed and job.family is not None]
    done = [clean for clean in problem.upkeep_before if clean.machine == index]
    ends = [_end(job, fixed) for _, job, fixed in here if fixed] + [clean.end for clean in done]
    last = max(runs, key=lambda run: run[0], default=None)
    since = LONG_AGO if last is None else last[0]
    closed = any(clean.kind == "day-end" and clean.start >= since for clean in done)
    thorough = max((clean.start for clean in done if clean.thorough), default=LONG_AGO)
    cold = [end for _, end, _, _ in runs] + [clean.end for clean in done if clean.kind == "pre-cool"]
    ready = max([problem.now, *ends])
    return Condition(
        family=None if closed else _clean_for(problem, index, runs),
        ready=ready,
        cold=max(cold, default=None),
        used=min((start for start, _, _, _ in runs if start >= thorough), default=None),
        owed=None if closed or last is None else _owed(problem, machine, last[0], ready),
        last=-1 if last is None else last[2],
    )


def _on(job: Job, machine: int) -> bool:
    return job.fixed is not None and job.fixed.machine == machine and not job.stay


def _end(job: Job, fixed: Fixed) -> int:
    return fixed.start + job.shortest if fixed.end is None else fixed.end


def _clean_for(problem: Problem, index: int, runs: list[tuple[int, int, int, Job]]) -> Family | None:
    in_hand = [(start, job.family) for start, end, _, job in runs if end > problem.now]
    if in_hand:
        return max(in_hand, key=lambda run: run[0])[1]
    if index in problem.families_before:
        return problem.families_before[index]
    return max(runs, key=lambda run: run[0])[3].family if runs else None


def _owed(problem: Problem, machine: Machine, start: int, ready: int) -> int | None:
    """The day of the last run, if its day-end clean can still be done: somebody is there, less what has begun."""
    if not machine.day_end:
        return None
    day = day_of(machine, start)
    close = machine.days[day][1]
    for worker in machine.closers:
        free = less(problem.workers[worker].free, _busy_with_facts(problem, worker))
        if any(
            max(a, ready) < b and max(a, ready) + machine.day_end <= close for a, b in starts(free, machine.day_end)
        ):
            return day
    return None


def _busy_with_facts(problem: Problem, worker: int) -> list[tuple[int, int]]:
    found = []
    for job in problem.jobs:
        place = fixed_place(job)
        if place is not None and job.fixed is not None and worker in job.fixed.workers:
            found += [portion_span(job, portion, place) for portion in range(len(job.portions))]
    return found
