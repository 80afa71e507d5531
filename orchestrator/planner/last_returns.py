"""Until when a machine that stands, or is to, must be back to save each order, and each window of what wants it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from orchestrator.core.ids import OrderId, TaskId
from orchestrator.core.models import Equipment, Maintenance, PlanRequest, Stop
from orchestrator.core.models.questions import LatestReturn
from orchestrator.planner.free_time import merged
from orchestrator.planner.indices import ceil_min, floor_min
from orchestrator.planner.lags import network
from orchestrator.planner.plan import Workbench
from orchestrator.planner.problem import Place, Problem, Schedule
from orchestrator.planner.score import lateness
from orchestrator.planner.structure import span, structure

_NEAR_MIN = 360
_FAR_STEP_MIN = 10
"""A return later than that, from now or from when the stop begins, is looked for in steps: nobody can yet say to the
minute when it will be."""

_NEXT_RUNS = 3
"""Runs whose windows are looked at; what comes after them is told by its orders."""

Repair = Callable[[Problem], Schedule]


def last_returns(bench: Workbench, request: PlanRequest, repair: Repair, until: datetime) -> Iterator[LatestReturn]:
    """For each machine that stands, the latest return for each order and window that depends on it.

    Args:
        bench: The present plan on its problem.
        request: The stops that stand or were told for later, and the maintenance that the kitchen plans.
        repair: The plan re-inserted into a problem with other stops.
        until: Maintenance that begins by then is looked at too.
    """
    for machine, equipment in enumerate(request.kitchen.equipment):
        away = _away(request, equipment, until)
        if away is not None:
            yield from _Returns(bench, repair, machine, away).all()


@dataclass(frozen=True, slots=True)
class _Away:
    """One span in which a machine cannot be used."""

    request: PlanRequest
    equipment: Equipment
    stop: Stop | Maintenance

    def others(self) -> Iterator[tuple[datetime, datetime]]:
        """All other spans of the machine: they stay as they are, whenever it is back from this one."""
        stops = [(stop, stop.start, stop.end) for stop in self.request.stops if stop.equipment == self.equipment.id]
        planned = [(away, away.start, away.end) for away in self.equipment.maintenance]
        yield from ((start, end) for away, start, end in (*stops, *planned) if away is not self.stop)

    def until(self, end: datetime) -> PlanRequest:
        """The same request with this span ending at another instant; without it, if that is no later than its start."""
        left = (self.stop.model_copy(update={"end": end}),) if end > self.stop.start else ()
        if isinstance(self.stop, Stop):
            stops = tuple(stop for stop in self.request.stops if stop is not self.stop)
            return self.request.model_copy(update={"stops": (*stops, *left)})
        kept = tuple(away for away in self.equipment.maintenance if away is not self.stop)
        made = self.equipment.model_copy(update={"maintenance": (*kept, *left)})
        kitchen = self.request.kitchen
        equipment = tuple(made if other.id == made.id else other for other in kitchen.equipment)
        return self.request.model_copy(update={"kitchen": kitchen.model_copy(update={"equipment": equipment})})


def _away(request: PlanRequest, equipment: Equipment, until: datetime) -> _Away | None:
    """What a machine stands for now or next: a stop that was told, else maintenance that begins soon."""
    stops = [s for s in request.stops if s.equipment == equipment.id and s.end > request.now]
    planned = [s for s in equipment.maintenance if s.end > request.now and s.start <= until]
    soonest = min(stops, key=lambda s: s.start, default=None) or min(planned, key=lambda s: s.start, default=None)
    return None if soonest is None else _Away(request, equipment, soonest)


@dataclass(slots=True)
class _Returns:
    """One machine, brought back at one minute after the other."""

    bench: Workbench
    repair: Repair
    machine: int
    away: _Away
    freed: tuple[Place | None, ...] = ()
    tried: dict[int, tuple[Schedule, ...]] = field(default_factory=dict)

    def all(self) -> Iterator[LatestReturn]:
        """Orders first, then windows."""
        problem = self.bench.problem
        self.freed = self._free()
        at_once, never = self.back(self.first), self.back(problem.horizon)
        for index, due in enumerate(problem.dues):
            if self._wanted(index):
                yield from self._look(_order_kept(problem, index), at_once, never, order=OrderId(due.order))
        for job in list(self._runs())[:_NEXT_RUNS]:
            task = TaskId(str(self.bench.demand.specs[job].id))
            yield from self._look(_windows_kept(problem, job), at_once, never, task=task)

    @property
    def began(self) -> int:
        """The minute at which it stops, or has stopped."""
        return floor_min(self.bench.problem.origin, self.away.stop.start)

    @property
    def first(self) -> int:
        """The soonest that it could be back: at once; where it is to stop later, not away at all."""
        return max(self.bench.problem.now, self.began)

    def back(self, minute: int) -> tuple[Schedule, ...]:
        """Everything else re-planned, with the machine back at a minute: near the present plan, and with what is late
        in that plan free to go anywhere, since it stands where it does because of the stop."""
        if minute not in self.tried:
            problem = self.bench.problem
            made = problem.machines[self.machine]
            others = ((floor_min(problem.origin, a), ceil_min(problem.origin, b)) for a, b in self.away.others())
            changed = replace(made, stops=merged((*others, (self.began, minute))))
            machines = (*problem.machines[: self.machine], changed, *problem.machines[self.machine + 1 :])
            posed = replace(problem, machines=machines)
            freed = replace(posed, previous=self.freed) if self.freed != problem.previous else None
            self.tried[minute] = tuple(self.repair(p) for p in (posed, freed) if p is not None)
        return self.tried[minute]

    def _free(self) -> tuple[Place | None, ...]:
        """The previous places, less those of whatever serves an order that is late, or is late for its own window."""
        problem, base = self.bench.problem, self.bench.schedule
        late = {due for due, minutes in enumerate(lateness(problem, base)) if minutes != 0}
        shape = structure(problem)
        free = {i for i, serves in enumerate(shape.reach) if serves & late}
        free |= network(problem).downstream([job for job in self._runs() if not _windows_kept(problem, job)(base)])
        return tuple(None if i in free else place for i, place in enumerate(problem.previous))

    def _wanted(self, due: int) -> bool:
        """Whether an order waits for anything that the machine could do."""
        reach, jobs = structure(self.bench.problem).reach, self.bench.problem.jobs
        return any(due in reach[i] and self.machine in job.machines and not job.fixed for i, job in enumerate(jobs))

    def _runs(self) -> Iterator[int]:
        """Work that waits for the machine and is not done before it stops, in order of time."""
        places, jobs = self.bench.schedule.places, self.bench.problem.jobs
        waiting = [i for i, j in enumerate(jobs) if self.machine in j.machines and not j.stay and j.fixed is None]
        waiting = [i for i in waiting if (there := places[i]) is None or there.end > self.began]
        yield from sorted(waiting, key=lambda i: (place.start if (place := places[i]) is not None else 0, i))

    def _look(
        self,
        kept: Callable[[Schedule], bool],
        at_once: tuple[Schedule, ...],
        never: tuple[Schedule, ...],
        *,
        order: OrderId | None = None,
        task: TaskId | None = None,
    ) -> Iterator[LatestReturn]:
        def whole(schedule: Schedule) -> bool:
            """Kept, and nothing left out: a plan that gives up other orders for it is nobody's last instant."""
            return kept(schedule) and not self._left_out(schedule)

        if any(map(kept, never)):
            return  # it goes another way
        found = self._latest(whole) if any(map(whole, at_once)) else None
        at = None if found is None else self.bench.problem.origin + timedelta(minutes=found)
        yield LatestReturn(equipment=self.away.equipment.id, order=order, task=task, at=at)

    def _left_out(self, schedule: Schedule) -> bool:
        """Whether something has no place that has one in the present plan."""
        pairs = zip(self.bench.schedule.places, schedule.places, strict=True)
        return any(before is not None and after is None for before, after in pairs)

    def _latest(self, kept: Callable[[Schedule], bool]) -> int | None:
        problem = self.bench.problem
        good, bad = [self.first], problem.horizon
        while bad - good[-1] > (1 if good[-1] < self.first + _NEAR_MIN else _FAR_STEP_MIN):
            middle = (good[-1] + bad) // 2
            if any(map(kept, self.back(middle))):
                good.append(middle)
            else:
                bad = middle
        return next((minute for minute in reversed(good) if self._proven(minute, kept)), None)

    def _proven(self, minute: int, kept: Callable[[Schedule], bool]) -> bool:
        """Whether a plan that keeps it passes the checker."""
        request = self.away.until(self.bench.problem.origin + timedelta(minutes=minute))
        return any(not self.bench.faults(schedule, request) for schedule in filter(kept, self.back(minute)))


def _order_kept(problem: Problem, due: int) -> Callable[[Schedule], bool]:
    return lambda schedule: lateness(problem, schedule)[due] == 0


def _windows_kept(problem: Problem, job: int) -> Callable[[Schedule], bool]:
    """Whether a job has a place, inside all the windows that end with its start."""
    stays = {link.after for link in problem.jobs[job].after if problem.jobs[link.after].stay}
    ending = [w for w in structure(problem).windows if w.job == job or (w.after is None and w.job in stays)]

    def kept(schedule: Schedule) -> bool:
        spans = [(window, span(window, schedule.places)) for window in ending]
        inside = all(minutes is not None and window.missed_by(minutes) == 0 for window, minutes in spans)
        return inside and schedule.places[job] is not None

    return kept
