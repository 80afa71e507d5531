"""What the plan wants bought, taken out of stores and weighed up."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from math import ceil
from typing import Final
from zoneinfo import ZoneInfo

from orchestrator.core.alarms import Look, look
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.ingredient_flow import Draw, Flow, flows
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.models.buying import WEEKDAYS, Supplier
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.core.views.models import AmountView
from orchestrator.core.views.task import build_task

ICE: Final = "Ice, at least"
_DUST = 1e-6


@dataclass(frozen=True, slots=True)
class ToOrder:
    """So much of one ingredient, to be ordered by one cut-off."""

    ingredient: str
    supplier: str
    """Its name; empty where nobody said who delivers it."""
    order_by: datetime | None
    """The cut-off; none without a supplier."""
    arrives: datetime | None
    needed_at: datetime
    """By the first step that takes it."""
    step: str
    lots: tuple[str, ...]
    """For which batches, or orders."""
    needed: Quantity
    """Beyond what is here or comes, what steps leave, and what is left of packs ordered before."""
    packs: int | None
    pack: Quantity | None
    allergens: tuple[str, ...]
    expected: datetime | None
    """When a delivery that is already on its way is there (`supplies`), of which nobody said how much it is."""
    from_left: Quantity | None = None
    """What by-products give of it besides, for all that takes it."""

    @property
    def ordered(self) -> Quantity:
        """In whole packs."""
        return self.needed if self.packs is None or self.pack is None else self.pack.times(self.packs)


@dataclass(frozen=True, slots=True)
class Pull:
    """Something to take out of a place."""

    place: str
    """Empty: nobody said where it is kept."""
    what: str
    lots: tuple[LotCode, ...]
    quantity: Quantity
    by: datetime
    who: tuple[str, ...]
    task: str
    into: str
    """Lot code or order."""
    allergens: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line of a weigh-up sheet."""

    task: TaskId
    step: str
    amount: AmountView
    store: str


def delivery_before(supplier: Supplier, needed: datetime, zone: str) -> tuple[datetime, datetime]:
    """The last delivery that is there in time, and until when it can be ordered.

    Args:
        supplier: Delivers on some weekdays, at a time of the kitchen's clock.
        needed: When it must be there.
        zone: The kitchen's.

    Returns:
        Cut-off and arrival, aware.
    """
    local = needed.astimezone(ZoneInfo(zone))
    for back in range(15):  # within two weeks every weekday has come
        on = local.date() - timedelta(days=back)
        arrives = _instant(on, supplier.arrives, zone)
        if WEEKDAYS[on.weekday()] in supplier.delivers and arrives <= needed:
            return _instant(on - timedelta(days=supplier.lead_days), supplier.cut_off, zone), arrives
    raise AssertionError("a supplier delivers on at least one weekday")


def _instant(on: date, clock: str, zone: str) -> datetime:
    return datetime.combine(on, time.fromisoformat(clock), ZoneInfo(zone)).astimezone(ZoneInfo("UTC"))


def to_order(state: State, facts: Facts, now: datetime) -> tuple[ToOrder, ...]:
    """What to order, by cut-off: what steps that have not begun take, less what is here, what was received, what is
    ordered already, and what other steps leave in time; see `ingredient_flow`.

    What is left of a whole pack goes to the next need. Without a plan nothing is wanted.
    """
    seen = look(state, facts, now)
    if seen is None:
        return ()
    found = []
    for (ingredient, unit), flow in flows(seen).items():
        found += _orders_of(seen, ingredient, unit, flow)
    far = now + timedelta(days=10_000)
    return tuple(sorted(found, key=lambda one: (one.order_by or far, one.supplier, one.ingredient)))


def _orders_of(seen: Look, ingredient: str, unit: Unit, flow: Flow) -> list[ToOrder]:
    buying, zone = seen.kitchen.kitchen.buying, seen.kitchen.kitchen.time_zone
    bought = buying.bought(ingredient)
    supplier = buying.supplier(bought.supplier)
    pack = bought.pack if bought.pack is not None and bought.pack.unit is unit else None
    if pack is None and unit is Unit.EACH:
        pack = Quantity(value=1, unit=unit)  # what is counted comes whole
    groups: dict[tuple[datetime, datetime] | None, list[Draw]] = {}
    for draw in flow.draws if bought.ordered else ():
        if draw.short > _DUST:
            when = delivery_before(supplier, draw.at, zone) if supplier is not None else None
            groups.setdefault(when, []).append(draw)
    found, spare = [], 0.0
    for when, draws in groups.items():
        wanted_more = sum(draw.short for draw in draws) - spare
        if wanted_more <= _DUST:
            spare = -wanted_more
            continue
        packs = ceil(wanted_more / pack.value - _DUST) if pack is not None else None
        spare = packs * pack.value - wanted_more if packs is not None and pack is not None else 0.0
        line = _line(seen, (ingredient, Quantity(value=wanted_more, unit=unit)), draws, flow)
        by, arrives = when if when is not None else (None, None)
        found.append(replace(line, order_by=by, arrives=arrives, packs=packs, pack=pack))
    return found


def _line(seen: Look, what: tuple[str, Quantity], draws: list[Draw], flow: Flow) -> ToOrder:
    """What is wanted for this work, before a delivery and packs are chosen."""
    (ingredient, needed), first, kitchen = what, draws[0], seen.kitchen.kitchen
    supplier = kitchen.buying.supplier(kitchen.buying.bought(ingredient).supplier)
    coming = seen.kitchen.supplies.get(ingredient)
    left = sum(part for draw in flow.draws for source, part in draw.parts if source.by_product)
    step = seen.kitchen.step(first.task)
    allergens = (take.allergens for take in (step.takes if step is not None else ()) if take.ingredient == ingredient)
    untold = coming is not None and coming.why == "delivery" and coming.amount is None
    return ToOrder(
        ingredient=ingredient,
        supplier=supplier.name if supplier is not None else "",
        order_by=None,
        arrives=None,
        needed_at=first.at,
        step=first.task.title,
        lots=tuple(dict.fromkeys(str(draw.task.lot or draw.task.order or "") for draw in draws)),
        needed=needed,
        packs=None,
        pack=None,
        allergens=next(allergens, ()),
        expected=coming.ready if coming is not None and untold else None,
        from_left=Quantity(value=left, unit=needed.unit) if left > _DUST else None,
    )


def pull_list(state: State, facts: Facts, now: datetime, day: date) -> tuple[Pull, ...]:
    """What must come out of which place on a day of the kitchen's calendar, in the order of time."""
    seen = look(state, facts, now)
    if seen is None:
        return ()
    found: list[Pull] = []
    drawn = {(draw.task.id, name): draw for (name, _), flow in flows(seen).items() for draw in flow.draws}
    for task in seen.plan.tasks.values():
        start = seen.live[task.id].start
        waits = seen.status(task) is TaskStatus.WAITING and not seen.gone(task.lot)
        if task.kind is TaskKind.WORK and waits and seen.kitchen.kitchen.local(start).date() == day:
            found += _out_for(seen, task, start, drawn)
            found += _ice_for(seen, task, start)
    return tuple(sorted(found, key=lambda pull: (pull.by, pull.place, pull.what)))


def _out_for(seen: Look, task: PlannedTask, start: datetime, drawn: Mapping[tuple[TaskId, str], Draw]) -> list[Pull]:
    view, into = build_task(seen, task), str(task.lot or task.order or "")
    buying = seen.kitchen.kitchen.buying
    found = []
    for one in view.amounts:
        draw = drawn.get((task.id, one.what)) if not one.lots else None
        if draw is not None and any(source.by_product or source.place for source, _ in draw.parts):
            for lots, place, share in _from_lots(seen, one, draw):
                found.append(Pull(place, one.what, lots, share, start, view.crew, task.title, into, one.allergens))
            continue
        for lots, place in _places(seen, one.lots) if one.lots else [((), buying.bought(one.what).store)]:
            share = _pegged(seen, lots, into, one.quantity)
            found.append(Pull(place, one.what, lots, share, start, view.crew, task.title, into, one.allergens))
    # Its own food, where it waited in a store for this step.
    first = any(
        link.most == 0 and seen.plan.tasks[link.after].kind is TaskKind.STAY
        for link in task.links
        if link.after in seen.plan.tasks and seen.plan.tasks[link.after].lot in _own(seen, task)
    )
    if first and not view.amounts:
        for lots, place in _places(seen, tuple(_own(seen, task))):
            amount = _pegged(seen, lots, into, task.quantity or Quantity(value=0, unit=Unit.LITRE))
            found.append(
                Pull(place, view.recipe_name, lots, amount, start, view.crew, task.title, into, view.allergens)
            )
    return found


def _ice_for(seen: Look, task: PlannedTask, start: datetime) -> Iterator[Pull]:
    """What melts at least of ice in a step that cools a batch; it is told at the bath that it goes into."""
    # Imported late: numpy, which whoever prints no pull list need not wait for.
    from orchestrator.core.views.ice import ice_for

    chill, bath = ice_for(seen.kitchen, seen.plan, task), seen.machine(task)
    if chill is not None:
        melts = Quantity(value=ceil(chill.ice_kg * 10) / 10, unit=Unit.KILOGRAM)
        place, who = bath.name if bath is not None else "", build_task(seen, task).crew
        yield Pull(place, ICE, (), melts, start, who, task.title, str(task.lot), ())


def _from_lots(seen: Look, one: AmountView, draw: Draw) -> Iterator[tuple[tuple[LotCode, ...], str, Quantity]]:
    """An ingredient taken out of the lots that are to be used first, each where it was put; the rest from its store."""
    rest, store = draw.value, seen.kitchen.kitchen.buying.bought(one.what).store
    for source, part in draw.parts:
        if source.by_product or source.place is not None:
            place = seen.kitchen.equipment.get(source.place) if source.place is not None else None
            lots = (LotCode(source.lot),) if source.kind in ("received", "left over") else ()
            yield lots, place.name if place is not None else store, Quantity(value=part, unit=one.quantity.unit)
            rest -= part
    if rest > _DUST:
        yield (), store, Quantity(value=rest, unit=one.quantity.unit)


def _own(seen: Look, task: PlannedTask) -> list[LotCode]:
    if task.lot is not None:
        return [task.lot]
    return [p.lot for p in seen.plan.plan.pegs if p.order == task.order and seen.recipe_of(p.lot) == task.recipe]


def _places(seen: Look, lots: tuple[LotCode, ...]) -> list[tuple[tuple[LotCode, ...], str]]:
    """Each lot with the name of the place where it is, or will be kept; empty where nobody knows."""
    found: list[tuple[tuple[LotCode, ...], str]] = []
    for lot in lots:
        tasks = [seen.plan.tasks[t] for t in seen.plan.lot_tasks.get(lot, ())]
        kept = [seen.machine(t) for t in tasks if t.kind is TaskKind.STAY]
        stock = seen.kitchen.stock.get(lot)
        place = kept[-1] if kept else seen.kitchen.equipment.get(stock.place) if stock and stock.place else None
        found.append(((lot,), place.name if place is not None else ""))
    return found


def _pegged(seen: Look, lots: tuple[LotCode, ...], into: str, otherwise: Quantity) -> Quantity:
    pegs = [peg for peg in seen.plan.plan.pegs if peg.lot in lots and peg.consumer == into]
    if not pegs:
        return otherwise
    return Quantity(value=sum(peg.quantity.value for peg in pegs), unit=pegs[0].quantity.unit)


def weigh_up(state: State, facts: Facts, now: datetime, lot: LotCode) -> tuple[Weighed, ...]:
    """Every ingredient and component of a batch, scaled to it, in the order of its steps.

    Raises:
        KeyError: no such batch in the plan.
    """
    seen = look(state, facts, now)
    if seen is None or lot not in seen.plan.batches:
        raise KeyError(lot)
    tasks = [seen.plan.tasks[t] for t in seen.plan.lot_tasks.get(lot, ())]
    work = sorted((t for t in tasks if t.kind is TaskKind.WORK), key=lambda t: seen.live[t.id].start)
    buying = seen.kitchen.kitchen.buying
    return tuple(
        Weighed(task.id, task.title, amount, "" if amount.lots else buying.bought(amount.what).store)
        for task in work
        for amount in build_task(seen, task).amounts
    )
