"""Orders that will not be, or were not, ready by their hand-over."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.alarms.overdue_alarms import in_time
from orchestrator.core.ids import AlarmId, OrderId, StationId, TaskId
from orchestrator.core.latest import latest_starts, latest_that_keeps
from orchestrator.core.models import Order, PlannedTask, TaskKind
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.state import TaskStatus

_MINUTE: Final = timedelta(minutes=1)
_OVER: Final = {TaskStatus.DONE, TaskStatus.SKIPPED}


def order_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """Orders late by the live plan at once, in fact from their due time on, until they are handed over."""
    return dict(c for order in look.kitchen.orders.values() for c in _order(look, order))


def ready_at(look: Look, order: OrderId) -> datetime | None:
    """When everything for an order is done, by the live plan; where nothing is done for the order itself,
    when its lots have stayed as long as they must. None: nothing is planned for it."""
    tasks = [look.plan.tasks[t] for t in look.plan.order_tasks.get(order, ())]
    work = [t for t in tasks if t.kind is not TaskKind.STAY]
    if work:
        return max(look.live[t.id].end for t in work)
    ends = [look.live[t.id].start + timedelta(minutes=t.stay.least if t.stay else 0) for t in tasks]
    return max(ends, default=None)


def handed_over_at(look: Look, order: OrderId) -> datetime | None:
    """When the last of an order's own steps was done in fact; none while some are not."""
    work = [t for t in _tasks(look, order) if t.kind is not TaskKind.STAY]
    if not work or any(look.status(t) not in _OVER for t in work):
        return None
    return max(look.live[t.id].end for t in work)


def _tasks(look: Look, order: OrderId) -> list[PlannedTask]:
    return [look.plan.tasks[t] for t in look.plan.order_tasks.get(order, ())]


def _order(look: Look, order: Order) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    outlook = next((o for o in look.plan.plan.outlooks if o.order == order.id), None)
    if handed_over_at(look, order.id) is not None:
        return
    ready = ready_at(look, order.id)
    unmet = outlook is not None and not outlook.met
    late = unmet or (ready is not None and ready >= order.due + _MINUTE)
    own_steps = any(t.kind is not TaskKind.STAY for t in _tasks(look, order.id))
    missed = look.now > order.due and (own_steps or unmet)
    if not late and not missed:
        return
    blocking = _blocking(look, order.id)
    reason = (outlook.reason if outlook else "") or _reason(look, order)
    yield (
        alarm_id(AlarmKind.ORDER_LATE, order.id),
        AlarmFacts(
            kind=AlarmKind.ORDER_LATE,
            priority=Priority.CRITICAL if missed else Priority.WARNING,
            missed=missed,
            task=blocking.id if blocking else None,
            title=order.customer,
            lot=blocking.lot if blocking else None,
            lots=tuple(sorted(p.lot for p in look.plan.plan.pegs if p.order == order.id)),
            stations=_stations(look, order.id, blocking),
            orders=(order.id,),
            limit_at=order.due,
            expected_at=None if unmet else ready,
            reason=reason,
            helps=_helps(look, blocking, missed, unmet),
            save_by=None if missed or unmet or not look.advise else _save_by(look, order, blocking),
        ),
    )


def _blocking(look: Look, order: OrderId) -> PlannedTask | None:
    """The next task that the order waits for: the one that has begun, or could, with least to spare."""
    assert look.state.plan is not None
    assert look.state.kitchen is not None
    latest = latest_starts(look.state.plan, look.state.kitchen)
    open_tasks = [
        t
        for t in look.plan.tasks.values()
        if t.kind is TaskKind.WORK and look.status(t) not in _OVER and order in look.plan.orders_of(t)
    ]
    nexts = [t for t in open_tasks if look.status(t) is TaskStatus.IN_HAND or _next(look, t)]
    return min(nexts, key=lambda t: (_spare(look, latest.get(t.id), t.id), t.id), default=None)


def _spare(look: Look, latest: datetime | None, task: TaskId) -> timedelta:
    return timedelta.max if latest is None else latest - look.live[task].start


def _next(look: Look, task: PlannedTask) -> bool:
    def cleared(before: PlannedTask) -> bool:
        status = look.status(before)
        return status in _OVER or (before.kind is TaskKind.STAY and status is TaskStatus.IN_HAND)

    return all(cleared(look.plan.tasks[k.after]) for k in task.links if k.after in look.plan.tasks)


def _reason(look: Look, order: Order) -> str:
    """What holds it up, as the title of a stay that will not be over in time; else nothing."""
    assert look.state.plan is not None
    assert look.state.kitchen is not None
    latest = latest_starts(look.state.plan, look.state.kitchen)
    for task in _tasks(look, order.id):
        if task.kind is not TaskKind.STAY or task.stay is None or task.id not in latest:
            continue
        if look.live[task.id].start > latest[task.id]:
            return task.title
    return ""


def _save_by(look: Look, order: Order, blocking: PlannedTask | None) -> datetime | None:
    if blocking is None or look.status(blocking) is TaskStatus.IN_HAND:
        return None
    assert look.state.plan is not None
    assert look.state.kitchen is not None
    until = latest_starts(look.state.plan, look.state.kitchen).get(blocking.id)
    if until is None:
        return None
    due = {order.id: order.due}
    return latest_that_keeps(look.state, look.now, blocking.id, lambda live: in_time(look, live, due), until)


def _stations(look: Look, order: OrderId, blocking: PlannedTask | None) -> tuple[StationId, ...]:
    own = [t for t in _tasks(look, order) if t.kind is not TaskKind.STAY]
    return look.stations([*([blocking] if blocking else []), *own])


def _helps(look: Look, blocking: PlannedTask | None, missed: bool, unmet: bool) -> tuple[Help, ...]:
    if missed or unmet:
        return (Help.TELL_CUSTOMER,)
    helps = [Help.TELL_CUSTOMER]
    if blocking is not None and look.status(blocking) is TaskStatus.WAITING:
        if look.stopped(blocking.equipment):
            helps.insert(0, Help.REPAIR_BY)
        elif look.may_begin(blocking):
            helps.insert(0, Help.START_NOW)
        if blocking.attended:
            helps.insert(1, Help.CALL_HANDS)
    return tuple(helps)
