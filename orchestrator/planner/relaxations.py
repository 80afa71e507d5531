"""What may stand against an order, each with a way to ask what would be without it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from orchestrator.core.ids import EquipmentId, OrderId, RecipeId
from orchestrator.core.models import Kitchen, Order, PlanRequest, Recipe, Shift, Step, WindowClass
from orchestrator.core.models.remedy import ConflictPart, PartKind
from orchestrator.core.quantities import Minutes

_LONG_MIN = 60
"""Windows shorter than this tie two steps together; they are how the food is made, not what could be talked about."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """A part of the conflict, if it is one, and the request without it."""

    part: ConflictPart
    without: Callable[[PlanRequest], PlanRequest]


def relaxations(request: PlanRequest, order: OrderId) -> list[Relaxation]:
    """Everything that could be in the way of an order, those first that are most easily talked about.

    Args:
        request: What was asked.
        order: The order that is not met, late, or served with a broken window.

    Returns:
        Stops, other orders, the order's own earliest hand-over, supplies, machines, person-days until it is due,
        and windows on its way.
    """
    wanted = next(o for o in request.kitchen.orders if o.id == order)
    chain = _chain(request.kitchen, wanted)
    return [
        *_stops(request, chain),
        *_others(request, wanted, chain),
        *_hand_over(request, wanted),
        *_supplies(request, chain),
        *_machines(request, chain),
        *_shifts(request, wanted, chain),
        *_windows(request, chain),
    ]


def _chain(kitchen: Kitchen, order: Order) -> list[Recipe]:
    """The recipes that an order needs, its products first."""
    known = {recipe.id: recipe for recipe in kitchen.recipes}
    found: dict[RecipeId, Recipe] = {}
    queue = [line.product for line in order.lines]
    for name in queue:
        if name in found or name not in known:
            continue
        found[name] = known[name]
        queue += [take.component for step in known[name].steps for take in step.takes if take.component is not None]
    return list(found.values())


def _kinds(chain: list[Recipe]) -> set[str]:
    return {step.equipment for recipe in chain for step in recipe.steps if step.equipment is not None}


def _kitchen(request: PlanRequest, **changed: object) -> PlanRequest:
    return request.model_copy(update={"kitchen": request.kitchen.model_copy(update=changed)})


# Stops, other orders, hand-over, supplies


def _stops(request: PlanRequest, chain: list[Recipe]) -> Iterator[Relaxation]:
    for machine in request.kitchen.equipment:
        mine = [stop for stop in request.stops if stop.equipment == machine.id and stop.end > request.now]
        planned = [m for m in machine.maintenance if m.end > request.now]
        if machine.kind not in _kinds(chain) or not (mine or planned):
            continue
        until = request.kitchen.when(max([s.end for s in mine] + [m.end for m in planned]))
        part = ConflictPart(kind=PartKind.STOP, thing=machine.id, says=f"the {machine.name} is stopped until {until}")

        def without(asked: PlanRequest, machine_id: EquipmentId = machine.id) -> PlanRequest:
            stops = tuple(stop for stop in asked.stops if stop.equipment != machine_id)
            machines = tuple(
                m.model_copy(update={"maintenance": ()}) if m.id == machine_id else m for m in asked.kitchen.equipment
            )
            return _kitchen(asked, equipment=machines).model_copy(update={"stops": stops})

        yield Relaxation(part, without)


def _others(request: PlanRequest, wanted: Order, chain: list[Recipe]) -> Iterator[Relaxation]:
    """Orders due later first: they are the ones that could make way."""
    others = [order for order in request.kitchen.orders if order.id != wanted.id]
    for order in sorted(others, key=lambda o: (-o.due.timestamp(), o.id)):
        says = f"{order.id}, due {request.kitchen.when(order.due)}"

        def without(asked: PlanRequest, name: OrderId = order.id) -> PlanRequest:
            return _kitchen(asked, orders=tuple(o for o in asked.kitchen.orders if o.id != name))

        yield Relaxation(ConflictPart(kind=PartKind.ORDER, thing=order.id, says=says), without)


def _hand_over(request: PlanRequest, wanted: Order) -> Iterator[Relaxation]:
    if wanted.earliest is None:
        return
    says = f"{wanted.id} may not be handed over before {request.kitchen.when(wanted.earliest)}"

    def without(asked: PlanRequest) -> PlanRequest:
        free = (o.model_copy(update={"earliest": None}) if o.id == wanted.id else o for o in asked.kitchen.orders)
        return _kitchen(asked, orders=tuple(free))

    yield Relaxation(ConflictPart(kind=PartKind.HAND_OVER, thing=wanted.id, says=says), without)


def _supplies(request: PlanRequest, chain: list[Recipe]) -> Iterator[Relaxation]:
    taken = {take.ingredient for recipe in chain for step in recipe.steps for take in step.takes}
    for supply in request.kitchen.supplies:
        if supply.ingredient not in taken or supply.ready <= request.now:
            continue
        what = "comes" if supply.why == "delivery" else "is ripe"
        says = f"{supply.ingredient} {what} {request.kitchen.when(supply.ready)}"
        if supply.why == "left":
            says = f"too little {supply.ingredient} is left over by other recipes"

        def without(asked: PlanRequest, name: str = supply.ingredient) -> PlanRequest:
            return _kitchen(asked, supplies=tuple(s for s in asked.kitchen.supplies if s.ingredient != name))

        yield Relaxation(ConflictPart(kind=PartKind.SUPPLY, thing=supply.ingredient, says=says), without)


# Machines and people


def _machines(request: PlanRequest, chain: list[Recipe]) -> Iterator[Relaxation]:
    kinds = _kinds(chain)
    for machine in request.kitchen.equipment:
        if machine.kind not in kinds or (machine.shared and machine.capacity is None):
            continue
        room = f"{machine.capacity.value:.4g} {machine.capacity.unit}" if machine.capacity is not None else ""
        most = f"holds {room}" if machine.shared else f"takes one run at a time{f', {room}' if room else ''}"
        cleaned = ", cleaned between" if machine.cleaning is not None and not machine.shared else ""
        says = f"the {machine.name} {most}{cleaned}"

        def without(asked: PlanRequest, machine_id: EquipmentId = machine.id) -> PlanRequest:
            # Its runs stay as large as they are: the question is how many fit at a time.
            free = {"shared": True, "cleaning": None, "capacity": None}
            machines = (m.model_copy(update=free) if m.id == machine_id else m for m in asked.kitchen.equipment)
            return _kitchen(asked, equipment=tuple(machines))

        yield Relaxation(ConflictPart(kind=PartKind.MACHINE, thing=machine.id, says=says), without)


def _shifts(request: PlanRequest, wanted: Order, chain: list[Recipe]) -> Iterator[Relaxation]:
    """Person-days from now until the order is due, of those whose skills it takes; the latest first."""
    kitchen, zone = request.kitchen, ZoneInfo(request.kitchen.time_zone)
    skills = {step.skill for recipe in chain for step in recipe.steps if step.skill is not None}
    skills |= {m.cleaning.skill for m in kitchen.equipment if m.cleaning is not None and m.kind in _kinds(chain)}
    first, last = (kitchen.local(instant).date() for instant in (request.now, wanted.due))
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    for day in reversed(days):
        for member in kitchen.crew:
            if skills.isdisjoint(member.skills):
                continue
            mine = [s for s in member.shifts if kitchen.local(s.start).date() == day]
            hours = " and ".join(f"{kitchen.local(s.start):%H:%M} to {kitchen.local(s.end):%H:%M}" for s in mine)
            there = f"works {day:%a %d %b} {hours}" if hours else f"is not there {day:%a %d %b}"
            part = ConflictPart(kind=PartKind.SHIFT, thing=f"{member.id} {day}", says=f"the {member.name} {there}")

            def without(asked: PlanRequest, who: str = member.id, day: date = day) -> PlanRequest:
                return _always_there(asked, who, day, zone)

            yield Relaxation(part, without)


def _always_there(asked: PlanRequest, who: str, day: date, zone: ZoneInfo) -> PlanRequest:
    """Somebody works all of a day, from midnight to midnight."""
    start = datetime.combine(day, time(0), zone).astimezone(asked.now.tzinfo)
    end = datetime.combine(day + timedelta(days=1), time(0), zone).astimezone(asked.now.tzinfo)
    crew = []
    for member in asked.kitchen.crew:
        if member.id == who:
            kept = [s for s in member.shifts if s.end <= start or s.start >= end]
            whole = Shift(start=start, end=end)
            crew.append(member.model_copy(update={"shifts": tuple(sorted([*kept, whole], key=lambda s: s.start))}))
        else:
            crew.append(member)
    return _kitchen(asked, crew=tuple(crew))


# Windows


def _windows(request: PlanRequest, chain: list[Recipe]) -> Iterator[Relaxation]:
    for recipe in chain:
        for step in recipe.steps:
            told = _window_says(step)
            if not told:
                continue
            says = f"'{step.title}' ({recipe.name}) {told}"

            def without(asked: PlanRequest, name: RecipeId = recipe.id, which: str = step.id) -> PlanRequest:
                recipes = (_opened(r, which) if r.id == name else r for r in asked.kitchen.recipes)
                return _kitchen(asked, recipes=tuple(recipes))

            part = ConflictPart(kind=PartKind.WINDOW, thing=f"{recipe.id}.{step.id}", says=says)
            yield Relaxation(part, without)


def _window_says(step: Step) -> str:
    """The window of a stay, or of the longest link of a step; empty where there is none to talk about."""
    if step.stay is not None:
        return _bounds(step.stay.least, step.stay.most, step.stay.window)
    long = [li for li in step.after or () if li.least >= _LONG_MIN or (li.most is not None and li.most >= _LONG_MIN)]
    return _bounds(long[0].least, long[0].most, long[0].window) if long else ""


def _bounds(least: Minutes, most: Minutes | None, window: WindowClass) -> str:
    told = [f"at least {_length(least)}"] if least else []
    told += [f"at most {_length(most)}"] if most is not None else []
    return f"takes {' and '.join(told)} ({window} window)" if told else ""


def _length(minutes: int) -> str:
    return f"{minutes} min" if minutes < 180 else f"{minutes / 60:g} h"


def _opened(recipe: Recipe, which: str) -> Recipe:
    """The recipe with one step's windows open on both sides."""
    open_ = {"least": 0, "most": None}
    steps = []
    for step in recipe.steps:
        if step.id != which:
            steps.append(step)
        elif step.stay is not None:
            steps.append(step.model_copy(update={"stay": step.stay.model_copy(update=open_)}))
        else:
            links = tuple(link.model_copy(update=open_) for link in step.after or ())
            steps.append(step.model_copy(update={"after": links}))
    return recipe.model_copy(update={"steps": tuple(steps)})
