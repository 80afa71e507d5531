"""Lots and where they stand."""

from datetime import datetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.by_products import pantry_allergens, there_of
from orchestrator.core.day_marks import mark_of
from orchestrator.core.deviations import asked_about
from orchestrator.core.ids import DeviationId, LotCode, RecipeId
from orchestrator.core.lives import Clocks
from orchestrator.core.material import batch_of
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import LEAST
from orchestrator.core.state import Facts, LotStatus, State, TaskStatus
from orchestrator.core.views.figures import DayMarkView
from orchestrator.core.views.models import LotView
from orchestrator.core.views.task import lot_allergens


def lot_views(state: State, facts: Facts, now: datetime) -> tuple[LotView, ...]:
    """Stock on hand first, then batches in the plan's order, then by-products; none before there is a kitchen.

    ``status`` is what was decided (on hold, discarded, rework), else ``planned``, ``in work``,
    ``free`` (made, and kept somewhere) or ``used``.
    """
    seen = look(state, facts, now)
    if seen is None:
        return ()
    clocks = seen.clocks()
    views = [
        _lot(seen, clocks, stock.lot, seen.kitchen.recipes[stock.recipe].name, made=stock.made)
        for stock in seen.kitchen.stock.values()
        if stock.recipe in seen.kitchen.recipes
    ]
    for batch in seen.plan.batches.values():
        if batch.recipe in seen.kitchen.recipes and batch.lot not in seen.kitchen.stock:
            views.append(_lot(seen, clocks, batch.lot, seen.kitchen.recipes[batch.recipe].name, made=None))
    return (*views, *(_in_pantry(seen, lot) for lot in state.pantry.by_products()))


def bought_in_doubt(state: State, facts: Facts, now: datetime) -> tuple[LotView, ...]:
    """Received ingredients that are asked about, on hold or were thrown away; the others stand in the pantry alone."""
    seen = look(state, facts, now)
    bought = (lot for lot in state.pantry.lots.values() if lot.made_from is None)
    views = (_in_pantry(seen, lot) for lot in bought) if seen is not None else ()
    return tuple(view for view in views if view.asked is not None or view.status not in ("free", "used"))


def _in_pantry(look: Look, lot: IngredientLot) -> LotView:
    """An ingredient on hand, or what a step has left; the recipe of that is its batch's."""
    record, source = look.state.lots.get(LotCode(lot.id)), batch_of(look.state, lot.made_from or "")
    decided = record is not None and record.status is not LotStatus.FREE
    place = look.kitchen.equipment.get(lot.place) if lot.place is not None else None
    here = there_of(look.state, lot) > LEAST
    return LotView(
        lot=LotCode(lot.id),
        recipe=source.recipe if source is not None else RecipeId(""),
        name=lot.ingredient,
        quantity=lot.quantity,
        status=record.status.value if record is not None and decided else "free" if here else "used",
        reason=record.reason if record is not None else "",
        where=place.name if place is not None and here else "",
        asked=_asked(look, LotCode(lot.id)),
        made_at=lot.received_at,
        use_by=lot.use_by,
        allergens=pantry_allergens(look.state, lot),
        for_orders=(),
        made_from=lot.made_from,
        bought=lot.made_from is None,
        weighed=lot.weighed,
    )


def _lot(look: Look, clocks: Clocks, lot: LotCode, name: str, made: datetime | None) -> LotView:
    tasks = [look.plan.tasks[t] for t in look.plan.lot_tasks.get(lot, ())]
    here = [t for t in tasks if look.status(t) is TaskStatus.IN_HAND]
    record = look.state.lots.get(lot)
    batch, stock = look.plan.batches.get(lot), look.kitchen.stock.get(lot)
    source = batch or stock
    assert source is not None
    decided = record is not None and record.status is not LotStatus.FREE
    return LotView(
        lot=lot,
        recipe=source.recipe,
        name=name,
        quantity=batch.size if batch else stock.quantity,  # type: ignore[union-attr]
        status=record.status.value if record is not None and decided else _status(look, tasks),
        reason=record.reason if record is not None else "",
        where=", ".join(dict.fromkeys(m.name for m in map(look.machine, here) if m is not None)),
        asked=_asked(look, lot),
        made_at=made or _made_at(look, tasks),
        use_by=clocks.use_by(lot),
        allergens=lot_allergens(look, lot),
        for_orders=look.plan.lot_orders.get(lot, ()),
        mark=_day_mark(look, lot),
    )


def _asked(look: Look, lot: LotCode) -> DeviationId | None:
    found = asked_about(look.state, lot)
    return found.id if found is not None else None


def _day_mark(look: Look, lot: LotCode) -> DayMarkView | None:
    mark = mark_of(look.state, lot, look.now)
    if mark is None:
        return None
    return DayMarkView(
        made=mark.made,
        oldest=mark.oldest,
        day=mark.day,
        days=mark.days,
        last=mark.last,
        frozen=mark.last is None,
        broken=mark.verdict.status == "broken",
        title=mark.verdict.title,
        applied=mark.verdict.applied,
    )


def _status(look: Look, tasks: list[PlannedTask]) -> str:
    states = {look.status(t) for t in tasks}
    if not tasks or states == {TaskStatus.WAITING}:
        return "planned"
    if not states & {TaskStatus.WAITING, TaskStatus.IN_HAND}:
        return "used"
    working = any(t.kind is TaskKind.WORK and look.status(t) in {TaskStatus.WAITING, TaskStatus.IN_HAND} for t in tasks)
    return "in work" if working else "free"


def _made_at(look: Look, tasks: list[PlannedTask]) -> datetime | None:
    """When its last step was done in fact; none while steps are left."""
    work = [t for t in tasks if t.kind is TaskKind.WORK]
    if not work or any(look.status(t) in {TaskStatus.WAITING, TaskStatus.IN_HAND} for t in work):
        return None
    return max(look.live[t.id].end for t in work)
