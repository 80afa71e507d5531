"""Places with food in them that failed, and what can be decided about each lot."""

from datetime import datetime

from pydantic import AwareDatetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.by_products import pantry_allergens
from orchestrator.core.deviations.places import air_fact, core_now, inside, measured, on_hand, still_good_c
from orchestrator.core.deviations.rooms import rooms
from orchestrator.core.deviations.standing import gone, held, places_failed, settled
from orchestrator.core.ids import EquipmentId, LotCode, OrderId, SupplyLotId, TaskId
from orchestrator.core.models import Equipment, Model, PlannedTask, TaskKind
from orchestrator.core.models.deviation import Answer, Deviation, Disposition
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import Facts, LotStatus, State
from orchestrator.core.views.task import lot_allergens


class DoubtLot(Model):
    """A lot in a place that failed, or that stood in it when it did."""

    lot: LotCode
    name: str
    litres: float
    amount: Quantity | None = None
    """Of an ingredient or a left-over: what the books have left."""
    since: AwareDatetime | None
    """Since when it is there; none once it has left."""
    task: TaskId | None
    """At which a reading by hand is entered."""
    measured_at: AwareDatetime | None = None
    measured_c: float | None = None
    """Its last reading by hand since the place failed."""
    core_at_most_c: float | None = None
    """No warmer than this, reckoned from the air; none where nobody can know."""
    may_be_kept: bool
    """Cold enough by that, or nothing is asked of the place."""
    hold_reason: str = ""
    """Why it is on hold; empty when it is not."""
    gone: bool = False
    settled: bool
    answer: Answer | None = None
    disposition: Disposition | None = None
    rooms: tuple[tuple[EquipmentId, str], ...] = ()
    allergens: tuple[str, ...] = ()
    orders: tuple[OrderId, ...] = ()


class PlaceView(Model):
    """A place with food in it, and what is wrong with it."""

    equipment: EquipmentId
    name: str
    high_c: float | None
    good_c: float | None
    """How warm food may be in its middle and still be kept."""
    celsius: float | None
    silent_since: AwareDatetime | None
    outside_since: AwareDatetime | None
    stopped_since: AwareDatetime | None
    stopped_reason: str
    deviations: tuple[Deviation, ...]
    """Open ones of this place."""
    lots: tuple[DoubtLot, ...]

    @property
    def undecided(self) -> tuple[DoubtLot, ...]:
        """Lots about which somebody must still decide."""
        return tuple(lot for lot in self.lots if not lot.settled)

    @property
    def since(self) -> datetime | None:
        """When it failed first, of what is still open."""
        return min((d.facts.since or d.opened_at for d in self.deviations), default=None)


def place_views(state: State, facts: Facts, now: datetime) -> tuple[PlaceView, ...]:
    """All stores, and any other machine that failed with food in it: those that failed first.

    Returns:
        None before there is a kitchen; lots of a place that did not fail are listed, settled.
    """
    seen = look(state, facts, now, advise=False)
    if seen is None:
        return ()
    here = inside(seen.state)
    found = []
    for place in seen.kitchen.equipment.values():
        failed = tuple(places_failed(state, place.id))
        if failed or (place.store and place.holds is not None):
            found.append(_place(seen, place, failed, here.get(place.id, [])))
    return tuple(sorted(found, key=lambda p: (not p.undecided, not p.deviations)))


def _place(seen: Look, place: Equipment, failed: tuple[Deviation, ...], tasks: list[PlannedTask]) -> PlaceView:
    assert seen.state.kitchen is not None
    fact = air_fact(seen.kitchen, place, seen.facts)
    stop = seen.state.machines.get(place.id)
    by_lot = {lot: [t for t in tasks if t.lot == lot] for lot in dict.fromkeys(t.lot for t in tasks) if lot is not None}
    stands = {LotCode(lot.id): lot for lot in on_hand(seen.state, place.id)}
    lots = dict.fromkeys((*(lot for d in failed for lot in d.lots), *by_lot, *stands))
    return PlaceView(
        equipment=place.id,
        name=place.name,
        high_c=place.holds.high if place.holds is not None else None,
        good_c=still_good_c(seen.state.kitchen, place),
        celsius=fact.celsius if fact is not None else None,
        silent_since=fact.silent_since if fact is not None else None,
        outside_since=fact.outside_since if fact is not None else None,
        stopped_since=stop.since if stop is not None else None,
        stopped_reason=stop.reason if stop is not None else "",
        deviations=failed,
        lots=tuple(
            _ingredient(seen, place, lot, failed, here=code in stands)
            if (lot := seen.state.pantry.lots.get(SupplyLotId(code))) is not None
            else _lot(seen, place, code, failed, by_lot.get(code, []))
            for code in lots
        ),
    )


def _lot(
    seen: Look, place: Equipment, lot: LotCode, failed: tuple[Deviation, ...], tasks: list[PlannedTask]
) -> DoubtLot:
    state = seen.state
    mine = [d for d in failed if lot in d.lots]
    stay = next((t for t in tasks if t.kind is TaskKind.STAY), tasks[0] if tasks else None)
    reading, core, good = _temperatures(seen, place, mine, lot, stay)
    record = state.lots.get(lot)
    recipe = seen.recipe_of(lot)
    since = [r.started_at for t in tasks if (r := state.record(t.id)).started_at is not None]
    return DoubtLot(
        lot=lot,
        name=seen.kitchen.recipes[recipe].name if recipe in seen.kitchen.recipes and recipe is not None else lot,
        litres=round(sum(t.load for t in tasks), 2),
        since=min((s for s in since if s is not None), default=None),
        task=stay.id if stay is not None else None,
        measured_at=reading[0] if reading is not None else None,
        measured_c=reading[1] if reading is not None else None,
        core_at_most_c=core,
        may_be_kept=good,
        hold_reason=record.reason if record is not None and held(state, lot) else "",
        gone=record is not None and record.status in (LotStatus.DISCARDED, LotStatus.REWORK),
        settled=all(settled(state, d, lot) for d in mine),
        answer=next((a for d in mine if (a := d.answer(lot)) is not None), None),
        disposition=next((x for d in mine if (x := d.disposition(lot)) is not None), None),
        rooms=tuple((e.id, e.name) for e in rooms(state, seen.facts, seen.now, place.id, lot))
        if mine and tasks
        else (),
        allergens=lot_allergens(seen, lot),
        orders=seen.plan.lot_orders.get(lot, ()),
    )


def _ingredient(
    seen: Look, place: Equipment, item: IngredientLot, failed: tuple[Deviation, ...], *, here: bool
) -> DoubtLot:
    """An ingredient, or a left-over, on hand: what can be said of it by the air alone."""
    state, lot = seen.state, LotCode(item.id)
    assert state.kitchen is not None
    mine = [d for d in failed if lot in d.lots]
    good = still_good_c(state.kitchen, place)
    core = _warmest(seen, mine, lot, in_work=False) if here else None
    readings = [r for d in mine if (r := measured(state, d, lot)) is not None]
    reading = max(readings, default=None)
    record = state.lots.get(lot)
    return DoubtLot(
        lot=lot,
        name=item.ingredient,
        litres=0.0,
        amount=Quantity(value=round(state.pantry.left(item.id), 3), unit=item.quantity.unit),
        since=item.received_at if here else None,
        task=None,
        measured_at=reading[0] if reading is not None else None,
        measured_c=reading[1] if reading is not None else None,
        core_at_most_c=core,
        may_be_kept=not mine or good is None or not here or (core is not None and core <= good + 1e-6),
        hold_reason=record.reason if record is not None and held(state, lot) else "",
        gone=gone(state, lot),
        settled=all(settled(state, d, lot) for d in mine),
        answer=next((a for d in mine if (a := d.answer(lot)) is not None), None),
        disposition=next((x for d in mine if (x := d.disposition(lot)) is not None), None),
        rooms=tuple((e.id, e.name) for e in rooms(state, seen.facts, seen.now, place.id, lot)) if mine and here else (),
        allergens=pantry_allergens(state, item),
    )


def _warmest(seen: Look, mine: list[Deviation], lot: LotCode, *, in_work: bool) -> float | None:
    """How warm its core can be by all of them, °C; none where one of them cannot say."""
    cores = [core_now(seen.state, d, lot, seen.facts, seen.now, in_work=in_work) for d in mine]
    known = [c for c in cores if c is not None]
    return max(known, default=None) if len(known) == len(cores) else None


def _temperatures(
    seen: Look, place: Equipment, mine: list[Deviation], lot: LotCode, stay: PlannedTask | None
) -> tuple[tuple[datetime, float] | None, float | None, bool]:
    """The reading by hand, how warm the core can be, and whether it may be kept as it is."""
    assert seen.state.kitchen is not None
    good = still_good_c(seen.state.kitchen, place)
    if stay is None or not mine:
        return None, None, True
    readings = [r for d in mine if (r := measured(seen.state, d, lot)) is not None]
    core = _warmest(seen, mine, lot, in_work=stay.kind is not TaskKind.STAY)
    kept = good is None or (core is not None and core <= good + 1e-6)
    return max(readings, default=None), core, kept
