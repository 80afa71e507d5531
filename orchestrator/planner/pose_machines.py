"""Machines in numbers: capacity, stops, what is to be done to them between runs, and what has been done."""

import math
from collections.abc import Iterator
from datetime import datetime, time, timedelta

from orchestrator.core.models import Equipment, PlannedTask, TaskKind
from orchestrator.core.models import Upkeep as Done
from orchestrator.planner.free_time import merged
from orchestrator.planner.indices import Indices, ceil_min, floor_min, hundredths
from orchestrator.planner.problem import LONG_AGO, CleanDown, Family, Job, Machine
from orchestrator.planner.upkeep_tasks import kind_of


def machine_of(at: Indices, made: Equipment) -> Machine:
    """One machine in numbers."""
    cleaning, precool, day_end = made.cleaning, made.precool, made.day_end
    return Machine(
        id=made.id,
        capacity=None if made.capacity is None else math.floor(made.capacity.value * 100 + 1e-6),
        shared=made.shared,
        rinse=cleaning.rinse if cleaning else 0,
        full=cleaning.full if cleaning else 0,
        cleaners=at.skilled(cleaning.skill) if cleaning else (),
        stops=_stops(at, made),
        taken=tuple(_taken(at, made)),
        alone=None if made.heat is None else hundredths(made.heat.alone.value),
        hot=made.heated,
        precool=precool.minutes if precool else 0,
        keeps=precool.keeps if precool else 0,
        day_end=day_end.minutes if day_end else 0,
        closers=at.skilled(day_end.skill) if day_end else (),
        days=tuple(_days(at, day_end.skill)) if day_end else (),
        hygiene=cleaning.hygiene_min if cleaning else 0,
        every=cleaning.every if cleaning else None,
    )


def _stops(at: Indices, made: Equipment) -> tuple[tuple[int, int], ...]:
    """When a machine cannot be used: stopped now, or planned to be; half-open minutes, in order and apart."""
    told = [(stop.start, stop.end) for stop in at.request.stops if stop.equipment == made.id]
    planned = [(stop.start, stop.end) for stop in made.maintenance]
    return merged((floor_min(at.origin, start), ceil_min(at.origin, end)) for start, end in (*told, *planned))


def _taken(at: Indices, made: Equipment) -> Iterator[tuple[int, int, int]]:
    """Room that by-products take; rounded down, so that what fitted the plan so far goes on fitting."""
    for kept in at.request.kept if made.shared and made.capacity is not None else ():
        start, end = ceil_min(at.origin, kept.start), min(floor_min(at.origin, kept.end), at.horizon)
        load = math.floor(kept.room * 100 + 1e-6)
        if kept.equipment == made.id and end > start and load > 0:
            yield start, end, load


def _days(at: Indices, skill: str) -> Iterator[tuple[int, int]]:
    """Of each day on the kitchen's clock: its first minute, and when the last who have a skill go home.

    Who works past midnight closes the machine before it.
    """
    kitchen = at.request.kitchen
    shifts = [shift for member in kitchen.crew if skill in member.skills for shift in member.shifts]
    day = kitchen.local(kitchen.planning_start)
    while (first := floor_min(at.origin, _midnight(day))) < at.horizon:
        after = _midnight(day + timedelta(days=1))
        ends = [min(shift.end, after) for shift in shifts if kitchen.local(shift.start).date() == day.date()]
        close = max((floor_min(at.origin, end) for end in ends), default=first)
        yield first, min(close, at.horizon)
        day += timedelta(days=1)


def _midnight(day: datetime) -> datetime:
    """When a day begins on the kitchen's clock."""
    return datetime.combine(day.date(), time(0), tzinfo=day.tzinfo)


def cleans_before(at: Indices, jobs: tuple[Job, ...]) -> Iterator[CleanDown]:
    """Upkeep of the plan before that has not begun, of runs that are still there."""
    for task in at.previous.values():
        index = at.machine.get(task.equipment) if task.equipment is not None else None
        if task.kind is not TaskKind.CLEAN or task.id in at.actuals or index is None:
            continue
        kind, place = kind_of(task, at.request.kitchen.equipment[index]), at.place(task)
        for run in _runs_of(at, task, jobs, index):
            yield CleanDown(index, run, kind, place.start, place.end, place.workers[0] if place.workers else ())


def _runs_of(at: Indices, task: PlannedTask, jobs: tuple[Job, ...], index: int) -> Iterator[int]:
    """The run that upkeep prepares, as far as that can still move; of a day-end clean, the run that it follows."""
    if task.upkeep is Done.DAY_END:
        yield from (
            at.job[link.after] for link in task.links if link.after in at.job and jobs[at.job[link.after]].family
        )
        return
    for run, (spec, job) in enumerate(zip(at.demand.specs, jobs, strict=True)):
        prepares = spec.lot == task.lot and spec.order == task.order and job.family is not None
        if prepares and index in job.machines and job.fixed is None:
            yield run


def upkeep_before(at: Indices, jobs: tuple[Job, ...]) -> Iterator[CleanDown]:
    """What has been done to machines, or is in hand."""
    for spec, job in zip(at.demand.specs, jobs, strict=True):
        fixed = job.fixed
        if spec.kind is not TaskKind.CLEAN or fixed is None or fixed.machine is None or fixed.end is None:
            continue
        kind = kind_of(spec, at.request.kitchen.equipment[fixed.machine])
        yield CleanDown(fixed.machine, -1, kind, fixed.start, fixed.end, fixed.workers)


def families_before(at: Indices, jobs: tuple[Job, ...]) -> dict[int, Family]:
    """What a clean-down already done has prepared a machine for, if nothing has run there since."""
    prepared: dict[int, tuple[int, Family]] = {}
    ran: dict[int, int] = {}
    for spec, job in zip(at.demand.specs, jobs, strict=True):
        if job.fixed is None or job.fixed.machine is None or job.fixed.end is None:
            continue
        index = job.fixed.machine
        if spec.kind is TaskKind.CLEAN and spec.upkeep not in (Done.PRECOOL, Done.DAY_END):
            meant = [j.family for j, s in zip(jobs, at.demand.specs, strict=True) if s.lot == spec.lot and j.family]
            if meant:
                prepared[index] = max(prepared.get(index, (LONG_AGO, meant[0])), (job.fixed.end, meant[0]), key=_first)
        elif job.family is not None:
            ran[index] = max(ran.get(index, LONG_AGO), job.fixed.start)
    return {m: family for m, (end, family) in prepared.items() if ran.get(m, LONG_AGO) < end}


def _first(pair: tuple[int, Family]) -> int:
    return pair[0]
