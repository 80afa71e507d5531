"""A request and its demand become a problem in whole minutes and indices."""

from collections.abc import Iterator
from dataclasses import replace

from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import (
    Actual,
    CrewMember,
    Plan,
    PlanRequest,
    TaskKind,
    TaskLink,
    TaskSpec,
    WindowClass,
)
from orchestrator.planner.demand import Demand
from orchestrator.planner.indices import Indices, ceil_min, floor_min, hundredths
from orchestrator.planner.pose_machines import cleans_before, families_before, machine_of, upkeep_before
from orchestrator.planner.problem import (
    Due,
    Family,
    Fixed,
    Job,
    Place,
    Portion,
    Precedence,
    Problem,
    Worker,
)
from orchestrator.planner.stock import place_of
from orchestrator.planner.supplies import supplies_of

HAND_OVER_MIN = 180
"""An order without an earliest instant is handed over in the last three hours before it is due (our rule: without it
a plan would temper and hand over on Thursday what is wanted on Saturday)."""


def pose(request: PlanRequest, demand: Demand) -> Problem:
    """Put the question in numbers.

    Args:
        request: Kitchen, present instant, actuals, stops and the previous plan.
        demand: What `explode` made of it; job i is its spec i.

    Returns:
        Minutes count from the kitchen's planning start; ``now`` is rounded up to the next whole minute.
    """
    at = Indices(request, demand)
    now = max(0, ceil_min(at.origin, request.now))
    jobs = tuple(_since_minute_0(_job(at, spec)) for spec in demand.specs)
    return Problem(
        origin=at.origin,
        now=now,
        horizon=max(at.horizon, now + 1),
        jobs=jobs,
        machines=tuple(machine_of(at, made) for made in request.kitchen.equipment),
        workers=tuple(_worker(at, member) for member in request.kitchen.crew),
        dues=tuple(_dues(at)),
        previous=tuple(_previous(at, request.previous)),
        cleans_before=tuple(cleans_before(at, jobs)),
        families_before=families_before(at, jobs),
        upkeep_before=tuple(upkeep_before(at, jobs)),
    )


def _since_minute_0(job: Job) -> Job:
    """A stay that began before the planned days is there from their first minute on, as stock is, with what is left of
    its least and its most. Work keeps the minutes at which it was done, which are below 0."""
    fixed = job.fixed
    if not job.stay or fixed is None or fixed.start >= 0:
        return job
    gone = -fixed.start
    return replace(
        job,
        shortest=max(0, job.shortest - gone),
        longest=max(0, job.longest - gone),
        keeps=None if job.keeps is None else max(0, job.keeps - gone),
        after=(),
        fixed=replace(fixed, start=0, end=None if fixed.end is None else max(0, fixed.end)),
    )


def _job(at: Indices, spec: TaskSpec) -> Job:
    kitchen = at.request.kitchen
    stay = spec.kind is TaskKind.STAY
    place = place_of(kitchen, spec)
    machines = (at.machine[place],) if place is not None else _candidates(at, spec)
    lengths, crowded = _lengths(at, spec, machines)
    fixed = _fixed(at, spec)
    return Job(
        id=spec.id,
        shortest=max(0, spec.duration.shortest - at.allowed(spec.id, "too early")) if stay else min(lengths),
        longest=_longest_stay(at, spec, fixed) if stay else max(*crowded, 0),
        stay=stay,
        machines=machines,
        lengths=lengths if not stay and len(set(lengths)) > 1 else (),
        crowded=crowded if crowded != lengths else (),
        load=hundredths(spec.load),
        portions=tuple(Portion(p.when, p.minutes or 0) for p in spec.attended if p.when == "throughout" or p.minutes),
        workers=at.skilled(spec.skill) if spec.attended else (),
        hands=spec.hands,
        after=(*(_precedence(at, spec, link) for link in spec.links), *_lives(at, spec)),
        family=_family(at, spec),
        fixed=fixed,
        release=max(_release(at, spec), _supplied(at, spec)),
        latest=min((floor_min(at.origin, life.until) for life in spec.lives if life.until is not None), default=None),
        keeps=spec.duration.longest if stay else None,
        stay_window=spec.stay.window if spec.stay is not None else WindowClass.QUALITY,
    )


def _longest_stay(at: Indices, spec: TaskSpec, fixed: Fixed | None) -> int:
    """The most minutes of a stay, as far as the planned days reach."""
    days = at.horizon - (fixed.start if fixed is not None and fixed.start < 0 else 0)
    if spec.stay is None or spec.stay.most is None:
        return days
    return min(spec.duration.longest + at.allowed(spec.id, "too late"), days)


def _lengths(at: Indices, spec: TaskSpec, machines: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Minutes of work on each of these machines, at its own speed, alone and among other warm food; at least one."""
    added = at.request.stretched.get(spec.id, 0)
    if not machines or spec.kind is not TaskKind.WORK:
        return (spec.duration.usual + added,), (spec.duration.usual + added,)
    usual, crowded = list[int](), list[int]()
    for machine in (at.request.kitchen.equipment[index] for index in machines):
        factor = machine.heat.crowded if machine.heat is not None else 1.0
        crowded.append(machine.minutes(spec.duration.usual, factor) + added)
        # What is too much by itself is never alone enough.
        too_much = machine.heat is not None and spec.load > machine.heat.alone.value + 1e-6
        usual.append(crowded[-1] if too_much else machine.minutes(spec.duration.usual) + added)
    return tuple(usual), tuple(crowded)


def _candidates(at: Indices, spec: TaskSpec) -> tuple[int, ...]:
    """Machines of the kind that can take the load; if none can, all of them, and capacity will say no."""
    if spec.kind is TaskKind.CLEAN or spec.equipment_kind is None:
        return ()
    of_kind = at.of_kind.get(spec.equipment_kind, [])
    fitting = tuple(index for index, least, most in of_kind if least - 1e-6 <= spec.load <= most + 1e-6)
    return fitting or tuple(index for index, _, _ in of_kind)


def _precedence(at: Indices, spec: TaskSpec, link: TaskLink) -> Precedence:
    after = at.job[link.after]
    before = at.demand.specs[after]
    if link.most == 0 and TaskKind.STAY in (spec.kind, before.kind):
        return Precedence(after=after, least=0, most=0, window=WindowClass.SAFETY)
    early, late = (at.allowed(link.after, side, spec.id) for side in ("too early", "too late"))
    most = None if link.most is None else link.most + late
    return Precedence(after=after, least=max(0, link.least - early), most=most, window=link.window)


def _lives(at: Indices, spec: TaskSpec) -> Iterator[Precedence]:
    """What is left of the shelf lives of what went in, counted from the end of the last work on it."""
    for life in spec.lives:
        if life.after in at.job and life.most is not None:
            yield Precedence(at.job[life.after], most=life.most, window=WindowClass.SAFETY, life=True)


def _family(at: Indices, spec: TaskSpec) -> Family | None:
    kitchen = at.request.kitchen
    if spec.equipment_kind not in at.kept_kinds or spec.kind is not TaskKind.WORK or spec.recipe is None:
        return None
    recipe = kitchen.made_by(spec.recipe, spec.revision)
    batch = at.batches.get(spec.lot) if spec.lot is not None else None
    base = recipe.base if recipe is not None and recipe.base else str(spec.recipe)
    colour = recipe.colour if recipe is not None else None
    # Work for an order has no batch of its own: what it leaves in a machine is what the product has in it.
    allergens = frozenset(batch.allergens) if batch is not None else at.allergens.get(spec.recipe, frozenset())
    return Family(allergens, base, None if colour is None else colour.depth)


def _fixed(at: Indices, spec: TaskSpec) -> Fixed | None:
    actual = at.actuals.get(spec.id)
    if actual is None:
        return _held(at, spec) or _fixed_stay(at, spec)
    machine = at.machine.get(actual.equipment) if actual.equipment is not None else None
    workers = tuple(at.worker[who] for who in actual.crew if who in at.worker)
    if actual.status == "in hand" and spec.kind is TaskKind.STAY:
        return Fixed(floor_min(at.origin, actual.start), None, machine, ())
    return Fixed(floor_min(at.origin, actual.start), _end_min(at, actual), machine, workers, begun=True)


def _held(at: Indices, spec: TaskSpec) -> Fixed | None:
    """A task held in place stays where the plan before had it, if that has not passed."""
    before = at.previous.get(spec.id)
    if before is None or not before.held_in_place or spec.kind is TaskKind.STAY or before.start < at.request.now:
        return None
    place = at.place(before)
    return Fixed(place.start, place.end, place.machine, place.workers[0] if place.workers else ())


def _end_min(at: Indices, actual: Actual) -> int:
    if actual.status == "in hand":
        return max(ceil_min(at.origin, actual.end), ceil_min(at.origin, at.request.now))
    # Rounded up, so that what follows never starts before the fact.
    start = floor_min(at.origin, actual.start)
    return max(start, ceil_min(at.origin, actual.end))


def _fixed_stay(at: Indices, spec: TaskSpec) -> Fixed | None:
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
    known = before.equipment if before is not None else _where_its_lot_is(at, spec)
    machine = at.machine[known] if known is not None else next(iter(_candidates(at, spec)), None)
    return Fixed(start, None, machine)


def _where_its_lot_is(at: Indices, spec: TaskSpec) -> EquipmentId | None:
    """Of a part that is new in the plan: other parts of the lot tell, as they were moved or as they were planned."""
    begins = f"{spec.lot}.{spec.step}."
    moved = (fact.equipment for task, fact in at.actuals.items() if task.startswith(begins) and fact.equipment)
    planned = (task.equipment for task in at.previous.values() if task.id.startswith(begins) and task.equipment)
    return next(moved, None) or next(planned, None)


def _supplied(at: Indices, spec: TaskSpec) -> int:
    """When all the ingredients that a step takes are there."""
    awaited = supplies_of(at.request, at.demand, spec, at.enough)
    return max((ceil_min(at.origin, supply.ready) for supply in awaited), default=0)


def _release(at: Indices, spec: TaskSpec) -> int:
    """The last task of an order line is done when the order may be handed over, and not long before it is due."""
    order = at.orders.get(spec.order) if spec.order is not None else None
    if order is None or spec.kind is not TaskKind.WORK or spec.id not in at.last:
        return 0
    latest = floor_min(at.origin, order.due) - spec.duration.usual
    if order.earliest is None:
        return max(0, min(latest, floor_min(at.origin, order.due) - HAND_OVER_MIN))
    # Counted from its end: what is ready before the earliest instant waits for it.
    return max(0, ceil_min(at.origin, order.earliest) - spec.duration.usual)


def _worker(at: Indices, member: CrewMember) -> Worker:
    free: list[tuple[int, int]] = []
    for shift in sorted(member.shifts, key=lambda s: s.start):
        start = shift.start
        for pause in sorted(shift.breaks, key=lambda b: b.start):
            free.append((ceil_min(at.origin, start), floor_min(at.origin, pause.start)))
            start = pause.end
        free.append((ceil_min(at.origin, start), floor_min(at.origin, shift.end)))
    inside = [(max(0, a), min(at.horizon, b)) for a, b in free]
    return Worker(member.id, tuple((a, b) for a, b in inside if a < b), reserve=member.manager)


def _dues(at: Indices) -> list[Due]:
    dues = []
    ends = [(i, spec.order) for i, spec in enumerate(at.demand.specs) if spec.id in at.last]
    for order in sorted(at.request.kitchen.orders, key=lambda o: (o.due, o.id)):
        last = [i for i, served in ends if served == order.id]
        if last:
            earliest = 0 if order.earliest is None else ceil_min(at.origin, order.earliest)
            due = floor_min(at.origin, order.due)
            dues.append(Due(order.id, tuple(last), due, earliest=earliest, weight=order.weight))
    return dues


def _previous(at: Indices, plan: Plan | None) -> list[Place | None]:
    if plan is None:
        return []
    return [at.place(at.previous[spec.id]) if spec.id in at.previous else None for spec in at.demand.specs]
