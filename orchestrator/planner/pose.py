"""A request and its demand become a problem in whole minutes and indices."""

import math
from collections.abc import Iterator
from datetime import datetime, timedelta

from orchestrator.core.ids import CrewId, EquipmentId, TaskId
from orchestrator.core.models import (
    Actual,
    CrewMember,
    Equipment,
    Kitchen,
    Plan,
    PlannedTask,
    PlanRequest,
    TaskKind,
    TaskLink,
    TaskSpec,
    WindowClass,
)
from orchestrator.planner.demand import Demand
from orchestrator.planner.free_time import merged
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.problem import (
    CleanDown,
    Due,
    Family,
    Fixed,
    Job,
    Machine,
    Place,
    Portion,
    Precedence,
    Problem,
    Upkeep,
    Worker,
)
from orchestrator.planner.stock import place_of
from orchestrator.planner.supplies import supplies_of

_MINUTE = timedelta(minutes=1)
HAND_OVER_MIN = 180
"""An order without an earliest instant is handed over in the last three hours before it is due (our rule: without it
a plan would temper and hand over on Thursday what is wanted on Saturday)."""


def floor_min(origin: datetime, instant: datetime) -> int:
    """Whole minutes from origin, rounded down."""
    return (instant - origin) // _MINUTE


def ceil_min(origin: datetime, instant: datetime) -> int:
    """Whole minutes from origin, rounded up."""
    return -((origin - instant) // _MINUTE)


def hundredths(load: float) -> int:
    """A load as the problem counts it."""
    return round(load * 100)


class _Indices:
    """Ids to positions, and instants to minutes."""

    def __init__(self, request: PlanRequest, demand: Demand) -> None:
        self.request, self.demand = request, demand
        kitchen = request.kitchen
        self.origin = kitchen.planning_start
        self.horizon = kitchen.horizon_days * 1440
        self.job: dict[TaskId, int] = {spec.id: i for i, spec in enumerate(demand.specs)}
        self.machine: dict[EquipmentId, int] = {machine.id: i for i, machine in enumerate(kitchen.equipment)}
        self.worker: dict[CrewId, int] = {member.id: i for i, member in enumerate(kitchen.crew)}
        self.actuals = actuals_of(request)
        self.previous: dict[TaskId, PlannedTask] = (
            {task.id: task for task in request.previous.tasks} if request.previous else {}
        )

    def allowed(self, after: TaskId, side: str, task: TaskId | None = None) -> int:
        """By how many minutes a quality window may be missed; without a task, that of a stay, by whoever takes it."""
        mine = (b for b in self.request.allowed if b.after == after and b.side == side and task in (None, b.task))
        return max((named.minutes for named in mine), default=0)

    def skilled(self, skill: str | None) -> tuple[int, ...]:
        crew = self.request.kitchen.crew
        return tuple(i for i, member in enumerate(crew) if skill is None or skill in member.skills)


def pose(request: PlanRequest, demand: Demand) -> Problem:
    """Put the question in numbers.

    Args:
        request: Kitchen, present instant, actuals, stops and the previous plan.
        demand: What `explode` made of it; job i is its spec i.

    Returns:
        Minutes count from the kitchen's planning start; ``now`` is rounded up to the next whole minute.
    """
    at = _Indices(request, demand)
    now = max(0, ceil_min(at.origin, request.now))
    jobs = tuple(_job(at, spec) for spec in demand.specs)
    return Problem(
        origin=at.origin,
        now=now,
        horizon=max(at.horizon, now + 1),
        jobs=jobs,
        machines=tuple(_machine(at, machine) for machine in request.kitchen.equipment),
        workers=tuple(_worker(at, member) for member in request.kitchen.crew),
        dues=tuple(_dues(at)),
        previous=tuple(_previous(at, request.previous)),
        cleans_before=tuple(_cleans_before(at, jobs)),
        families_before=_families_before(at, jobs),
    )


def _job(at: _Indices, spec: TaskSpec) -> Job:
    kitchen = at.request.kitchen
    stay = spec.kind is TaskKind.STAY
    place = place_of(kitchen, spec)
    machines = (at.machine[place],) if place is not None else _candidates(at, spec)
    lengths = _lengths(at, spec, machines)
    return Job(
        id=spec.id,
        shortest=max(0, spec.duration.shortest - at.allowed(spec.id, "too early")) if stay else min(lengths),
        longest=min(spec.duration.longest + at.allowed(spec.id, "too late"), at.horizon) if stay else max(lengths),
        stay=stay,
        machines=machines,
        lengths=lengths if not stay and len(set(lengths)) > 1 else (),
        load=hundredths(spec.load),
        portions=tuple(Portion(p.when, p.minutes or 0) for p in spec.attended if p.when == "throughout" or p.minutes),
        workers=at.skilled(spec.skill) if spec.attended else (),
        hands=spec.hands,
        after=(*(_precedence(at, spec, link) for link in spec.links), *_lives(at, spec)),
        family=_family(at, spec),
        fixed=_fixed(at, spec),
        release=max(_release(at, spec), _supplied(at, spec)),
        latest=min((floor_min(at.origin, life.until) for life in spec.lives if life.until is not None), default=None),
        keeps=spec.duration.longest if stay else None,
        stay_window=spec.stay.window if spec.stay is not None else WindowClass.QUALITY,
    )


def _lengths(at: _Indices, spec: TaskSpec, machines: tuple[int, ...]) -> tuple[int, ...]:
    """Minutes of work on each of these machines, each at its own speed; at least one."""
    added = at.request.stretched.get(spec.id, 0)
    if not machines or spec.kind is not TaskKind.WORK:
        return (spec.duration.usual + added,)
    equipment = at.request.kitchen.equipment
    return tuple(equipment[machine].minutes(spec.duration.usual) + added for machine in machines)


def _candidates(at: _Indices, spec: TaskSpec) -> tuple[int, ...]:
    """Machines of the kind that can take the load; if none can, all of them, and capacity will say no."""
    if spec.kind is TaskKind.CLEAN or spec.equipment_kind is None:
        return ()
    fitting, all_of_kind = [], []
    for index, machine in enumerate(at.request.kitchen.equipment):
        most = math.inf if machine.capacity is None else machine.capacity.value
        least = machine.least.value if machine.least is not None and not machine.shared else 0.0
        if machine.kind != spec.equipment_kind:
            continue
        all_of_kind.append(index)
        if least - 1e-6 <= spec.load <= most + 1e-6:
            fitting.append(index)
    return tuple(fitting or all_of_kind)


def _precedence(at: _Indices, spec: TaskSpec, link: TaskLink) -> Precedence:
    after = at.job[link.after]
    before = at.demand.specs[after]
    if link.most == 0 and TaskKind.STAY in (spec.kind, before.kind):
        return Precedence(after=after, least=0, most=0, window=WindowClass.SAFETY)
    early, late = (at.allowed(link.after, side, spec.id) for side in ("too early", "too late"))
    most = None if link.most is None else link.most + late
    return Precedence(after=after, least=max(0, link.least - early), most=most, window=link.window)


def _lives(at: _Indices, spec: TaskSpec) -> Iterator[Precedence]:
    """What is left of the shelf lives of what went in, counted from the end of the last work on it."""
    for life in spec.lives:
        if life.after in at.job and life.most is not None:
            yield Precedence(at.job[life.after], most=life.most, window=WindowClass.SAFETY, life=True)


def _family(at: _Indices, spec: TaskSpec) -> Family | None:
    kitchen = at.request.kitchen
    cleaned = any(m.cleaning is not None and m.kind == spec.equipment_kind for m in kitchen.equipment)
    if not cleaned or spec.kind is not TaskKind.WORK or spec.recipe is None:
        return None
    recipe = next((r for r in kitchen.recipes if r.id == spec.recipe), None)
    batch = next((b for b in at.demand.batches if b.lot == spec.lot), None)
    base = recipe.base if recipe is not None and recipe.base else str(spec.recipe)
    colour = recipe.colour if recipe is not None else None
    allergens = frozenset(batch.allergens if batch is not None else ())
    return Family(allergens, base, None if colour is None else colour.depth)


def _fixed(at: _Indices, spec: TaskSpec) -> Fixed | None:
    actual = at.actuals.get(spec.id)
    if actual is None:
        return _held(at, spec) or _fixed_stay(at, spec)
    machine = at.machine.get(actual.equipment) if actual.equipment is not None else None
    workers = tuple(at.worker[who] for who in actual.crew if who in at.worker)
    if actual.status == "in hand" and spec.kind is TaskKind.STAY:
        return Fixed(floor_min(at.origin, actual.start), None, machine, ())
    return Fixed(floor_min(at.origin, actual.start), _end_min(at, actual), machine, workers)


def _held(at: _Indices, spec: TaskSpec) -> Fixed | None:
    """A task held in place stays where the plan before had it, if that has not passed."""
    before = at.previous.get(spec.id)
    if before is None or not before.held_in_place or spec.kind is TaskKind.STAY or before.start < at.request.now:
        return None
    place = _place(at, before)
    return Fixed(place.start, place.end, place.machine, place.workers[0] if place.workers else ())


def _end_min(at: _Indices, actual: Actual) -> int:
    if actual.status == "in hand":
        return max(ceil_min(at.origin, actual.end), ceil_min(at.origin, at.request.now))
    # Rounded up, so that what follows never starts before the fact.
    start = floor_min(at.origin, actual.start)
    return max(start, ceil_min(at.origin, actual.end))


def _fixed_stay(at: _Indices, spec: TaskSpec) -> Fixed | None:
    """Stock on hand stays since planning start; a stay that is filled has begun, whoever it was meant for."""
    if spec.kind is not TaskKind.STAY:
        return None
    place = place_of(at.request.kitchen, spec)
    if not spec.links:
        return Fixed(0, None, at.machine.get(place) if place is not None else None)
    filled = [at.actuals.get(link.after) for link in spec.links]
    if not all(actual is not None and actual.status in ("done", "skipped") for actual in filled):
        return None
    start = max(_end_min(at, actual) for actual in filled if actual is not None)
    before = at.previous.get(spec.id)
    known = before.equipment if before is not None else None
    machine = at.machine[known] if known is not None else next(iter(_candidates(at, spec)), None)
    return Fixed(start, None, machine)


def _supplied(at: _Indices, spec: TaskSpec) -> int:
    """When all the ingredients that a step takes are there."""
    awaited = supplies_of(at.request.kitchen, spec)
    return max((ceil_min(at.origin, supply.ready) for supply in awaited), default=0)


def _release(at: _Indices, spec: TaskSpec) -> int:
    """The last task of an order line is done when the order may be handed over, and not long before it is due."""
    order = next((o for o in at.request.kitchen.orders if o.id == spec.order), None)
    if order is None or spec.kind is not TaskKind.WORK or spec.id not in _last_ids(at):
        return 0
    latest = floor_min(at.origin, order.due) - spec.duration.usual
    if order.earliest is None:
        return max(0, min(latest, floor_min(at.origin, order.due) - HAND_OVER_MIN))
    # Counted from its end: what is ready before the earliest instant waits for it.
    return max(0, ceil_min(at.origin, order.earliest) - spec.duration.usual)


def _last_ids(at: _Indices) -> frozenset[TaskId]:
    followed = {link.after for spec in at.demand.specs for link in spec.links}
    return frozenset(spec.id for spec in at.demand.specs if spec.order is not None and spec.id not in followed)


def _machine(at: _Indices, machine: Equipment) -> Machine:
    kitchen: Kitchen = at.request.kitchen
    cleaning = machine.cleaning
    capacity = None if machine.capacity is None else math.floor(machine.capacity.value * 100 + 1e-6)
    return Machine(
        id=machine.id,
        capacity=capacity,
        shared=machine.shared,
        rinse=cleaning.rinse if cleaning else 0,
        full=cleaning.full if cleaning else 0,
        cleaners=tuple(i for i, m in enumerate(kitchen.crew) if cleaning and cleaning.skill in m.skills),
        stops=_stops(at, machine),
        hot=machine.heated,
    )


def _stops(at: _Indices, machine: Equipment) -> tuple[tuple[int, int], ...]:
    """When a machine cannot be used: stopped now, or planned to be; half-open minutes, in order and apart."""
    told = [(stop.start, stop.end) for stop in at.request.stops if stop.equipment == machine.id]
    planned = [(stop.start, stop.end) for stop in machine.maintenance]
    return merged((floor_min(at.origin, start), ceil_min(at.origin, end)) for start, end in (*told, *planned))


def _worker(at: _Indices, member: CrewMember) -> Worker:
    free: list[tuple[int, int]] = []
    for shift in sorted(member.shifts, key=lambda s: s.start):
        start = shift.start
        for pause in sorted(shift.breaks, key=lambda b: b.start):
            free.append((ceil_min(at.origin, start), floor_min(at.origin, pause.start)))
            start = pause.end
        free.append((ceil_min(at.origin, start), floor_min(at.origin, shift.end)))
    inside = [(max(0, a), min(at.horizon, b)) for a, b in free]
    return Worker(member.id, tuple((a, b) for a, b in inside if a < b), reserve=member.manager)


def _dues(at: _Indices) -> list[Due]:
    followed = {link.after for spec in at.demand.specs for link in spec.links}
    dues = []
    for order in sorted(at.request.kitchen.orders, key=lambda o: (o.due, o.id)):
        last = [i for i, spec in enumerate(at.demand.specs) if spec.order == order.id and spec.id not in followed]
        if last:
            earliest = 0 if order.earliest is None else ceil_min(at.origin, order.earliest)
            due = floor_min(at.origin, order.due)
            dues.append(Due(order.id, tuple(last), due, earliest=earliest, weight=order.weight))
    return dues


def _previous(at: _Indices, plan: Plan | None) -> list[Place | None]:
    if plan is None:
        return []
    return [_place(at, at.previous[spec.id]) if spec.id in at.previous else None for spec in at.demand.specs]


def _place(at: _Indices, task: PlannedTask) -> Place:
    return Place(
        start=floor_min(at.origin, task.start),
        end=floor_min(at.origin, task.end),
        machine=at.machine.get(task.equipment) if task.equipment is not None else None,
        workers=tuple(tuple(at.worker[who] for who in span.crew if who in at.worker) for span in task.spans),
    )


def _cleans_before(at: _Indices, jobs: tuple[Job, ...]) -> Iterator[CleanDown]:
    """Clean-downs of the plan before that have not begun, for runs that may still move."""
    for task in at.previous.values():
        machine = at.machine.get(task.equipment) if task.equipment is not None else None
        if task.kind is not TaskKind.CLEAN or task.id in at.actuals or machine is None or not task.spans:
            continue
        cleaning, place = at.request.kitchen.equipment[machine].cleaning, _place(at, task)
        for index, (spec, job) in enumerate(zip(at.demand.specs, jobs, strict=True)):
            prepares = spec.lot == task.lot and spec.order == task.order and job.family is not None
            if prepares and machine in job.machines and job.fixed is None and cleaning is not None:
                kind: Upkeep = "full" if place.end - place.start == cleaning.full else "rinse"
                yield CleanDown(machine, index, kind, place.start, place.end, place.workers[0])


def _families_before(at: _Indices, jobs: tuple[Job, ...]) -> dict[int, Family]:
    """What a clean-down already done has prepared a machine for, if nothing has run there since."""
    prepared: dict[int, tuple[int, Family]] = {}
    ran: dict[int, int] = {}
    for spec, job in zip(at.demand.specs, jobs, strict=True):
        if job.fixed is None or job.fixed.machine is None or job.fixed.end is None:
            continue
        machine = job.fixed.machine
        if spec.kind is TaskKind.CLEAN:
            meant = [j.family for j, s in zip(jobs, at.demand.specs, strict=True) if s.lot == spec.lot and j.family]
            if meant:
                prepared[machine] = max(prepared.get(machine, (-1, meant[0])), (job.fixed.end, meant[0]), key=_first)
        elif job.family is not None:
            ran[machine] = max(ran.get(machine, -1), job.fixed.start)
    return {m: family for m, (end, family) in prepared.items() if ran.get(m, -1) < end}


def _first(pair: tuple[int, Family]) -> int:
    return pair[0]
