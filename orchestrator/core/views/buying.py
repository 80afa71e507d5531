"""What the plan wants bought, taken out of stores and weighed up."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import ceil
from zoneinfo import ZoneInfo

from orchestrator.core.alarms import Look, look
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.models.buying import WEEKDAYS, Supplier
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.core.views.models import AmountView
from orchestrator.core.views.task import build_task

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
    """Beyond what is on hand and left over of packs ordered before."""
    packs: int | None
    pack: Quantity | None
    allergens: tuple[str, ...]
    expected: datetime | None
    """When a delivery that is already on its way is there (`supplies`)."""

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


@dataclass(frozen=True, slots=True)
class _Need:
    at: datetime
    task: PlannedTask
    amount: AmountView
    over: bool
    """The step has begun: it was taken."""


def _needs(seen: Look) -> dict[tuple[str, Unit], list[_Need]]:
    """What steps take of ingredients, in the order of time."""
    found: dict[tuple[str, Unit], list[_Need]] = defaultdict(list)
    for task in seen.plan.tasks.values():
        step = seen.kitchen.step(task)
        if task.kind is not TaskKind.WORK or step is None or not step.takes or seen.gone(task.lot):
            continue
        bought = {take.ingredient for take in step.takes if take.ingredient is not None}
        begun = seen.status(task) is not TaskStatus.WAITING
        for amount in build_task(seen, task).amounts:
            if amount.what in bought and amount.quantity.value > 0:
                key = (amount.what, amount.quantity.unit)
                found[key].append(_Need(seen.live[task.id].start, task, amount, begun))
    return {key: sorted(needs, key=lambda need: need.at) for key, needs in sorted(found.items())}


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
    """What to order, by cut-off: what steps that have not begun take, less what is on hand.

    What is on hand is used in the order of time, also by steps that have begun since planning started; what is left of
    a whole pack goes to the next need. Without a plan nothing is wanted.
    """
    seen = look(state, facts, now)
    if seen is None:
        return ()
    found = []
    for (ingredient, unit), needs in _needs(seen).items():
        found += _orders_of(seen, ingredient, unit, needs)
    far = now + timedelta(days=10_000)
    return tuple(sorted(found, key=lambda one: (one.order_by or far, one.supplier, one.ingredient)))


def _orders_of(seen: Look, ingredient: str, unit: Unit, needs: list[_Need]) -> list[ToOrder]:
    buying, zone = seen.kitchen.kitchen.buying, seen.kitchen.kitchen.time_zone
    bought = buying.bought(ingredient)
    supplier = buying.supplier(bought.supplier)
    left = bought.on_hand.value if bought.on_hand is not None and bought.on_hand.unit is unit else 0.0
    pack = bought.pack if bought.pack is not None and bought.pack.unit is unit else None
    groups: dict[tuple[datetime, datetime] | None, list[tuple[_Need, float]]] = {}
    for need in needs:
        used = min(left, need.amount.quantity.value)
        left -= used
        short = need.amount.quantity.value - used
        if need.over or short <= _DUST or not bought.ordered:
            continue
        when = delivery_before(supplier, need.at, zone) if supplier is not None else None
        groups.setdefault(when, []).append((need, short))
    found, spare = [], 0.0
    for when, short_of in groups.items():
        wanted = sum(short for _, short in short_of) - spare
        if wanted <= _DUST:
            spare = -wanted
            continue
        packs = ceil(wanted / pack.value - _DUST) if pack is not None else None
        spare = packs * pack.value - wanted if packs is not None and pack is not None else 0.0
        first = short_of[0][0]
        coming = seen.kitchen.supplies.get(ingredient)
        found.append(
            ToOrder(
                ingredient=ingredient,
                supplier=supplier.name if supplier is not None else "",
                order_by=when[0] if when is not None else None,
                arrives=when[1] if when is not None else None,
                needed_at=first.at,
                step=first.task.title,
                lots=tuple(dict.fromkeys(str(need.task.lot or need.task.order or "") for need, _ in short_of)),
                needed=Quantity(value=wanted, unit=unit),
                packs=packs,
                pack=pack,
                allergens=first.amount.allergens,
                expected=coming.ready if coming is not None and coming.why == "delivery" else None,
            )
        )
    return found


def pull_list(state: State, facts: Facts, now: datetime, day: date) -> tuple[Pull, ...]:
    """What must come out of which place on a day of the kitchen's calendar, in the order of time."""
    seen = look(state, facts, now)
    if seen is None:
        return ()
    found: list[Pull] = []
    for task in seen.plan.tasks.values():
        start = seen.live[task.id].start
        waits = seen.status(task) is TaskStatus.WAITING and not seen.gone(task.lot)
        if task.kind is TaskKind.WORK and waits and seen.kitchen.kitchen.local(start).date() == day:
            found += _out_for(seen, task, start)
    return tuple(sorted(found, key=lambda pull: (pull.by, pull.place, pull.what)))


def _out_for(seen: Look, task: PlannedTask, start: datetime) -> list[Pull]:
    view, into = build_task(seen, task), str(task.lot or task.order or "")
    buying = seen.kitchen.kitchen.buying
    found = []
    for one in view.amounts:
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
