"""Lots and where they stand."""

from datetime import datetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.day_marks import mark_of
from orchestrator.core.ids import LotCode
from orchestrator.core.lives import Clocks
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import Facts, LotStatus, State, TaskStatus
from orchestrator.core.views.figures import DayMarkView
from orchestrator.core.views.models import LotView
from orchestrator.core.views.task import lot_allergens


def lot_views(state: State, facts: Facts, now: datetime) -> tuple[LotView, ...]:
    """Stock on hand first, then batches in the plan's order; none before there is a kitchen.

    ``status`` is what was decided (on hold, discarded, rework), else ``planned``, ``in work``,
    ``free`` (made, and kept somewhere) or ``used``.
    """
    seen = look(state, facts, now)
    if seen is None:
        return ()
    live = seen.live
    clocks = Clocks(
        seen.plan.plan,
        seen.kitchen.kitchen,
        lambda t: live[t].end if t in live else None,
        lambda t: live[t].start if t in live else None,
    )
    views = [
        _lot(seen, clocks, stock.lot, seen.kitchen.recipes[stock.recipe].name, made=stock.made)
        for stock in seen.kitchen.stock.values()
        if stock.recipe in seen.kitchen.recipes
    ]
    for batch in seen.plan.batches.values():
        if batch.recipe in seen.kitchen.recipes and batch.lot not in seen.kitchen.stock:
            views.append(_lot(seen, clocks, batch.lot, seen.kitchen.recipes[batch.recipe].name, made=None))
    return tuple(views)


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
        made_at=made or _made_at(look, tasks),
        use_by=clocks.use_by(lot),
        allergens=lot_allergens(look, lot),
        for_orders=look.plan.lot_orders.get(lot, ()),
        mark=_day_mark(look, lot),
    )


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
