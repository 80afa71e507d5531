"""What holding and deciding change about a lot."""

from dataclasses import replace
from typing import Final

from orchestrator.core.events import Recorded
from orchestrator.core.evolve.deviations import disposed
from orchestrator.core.ids import LotCode, OrderId, RecipeId, TaskId
from orchestrator.core.lot_events import LotDecided, LotHeld, RecordLookedThrough
from orchestrator.core.models import Process
from orchestrator.core.state import Act, LotRecord, LotStatus, State, TaskRecord, TaskStatus

_DECIDED: Final = {"release": LotStatus.FREE, "rework": LotStatus.REWORK, "discard": LotStatus.DISCARDED}


def apply(state: State, recorded: Recorded, event: LotHeld | LotDecided) -> State:
    """The lot's record changes; what is left of a discarded lot leaves its place."""
    if isinstance(event, LotHeld):
        record = _held(state.lots.get(event.lot), event)
        acts = _acts(state, recorded, event.lot)
        return replace(state, lots={**state.lots, event.lot: record}, acts=acts)
    status = _DECIDED[event.decision]
    record = LotRecord(status, event.at, event.reason, event.person)
    deviations = disposed(state.deviations, event)
    after = replace(state, lots={**state.lots, event.lot: record}, deviations=deviations)
    return _cleared(after, event) if status is LotStatus.DISCARDED else after


def looked_through(state: State, event: RecordLookedThrough) -> State:
    """One look more; those before it stay."""
    return replace(state, looked={**state.looked, event.lot: (*state.looked.get(event.lot, ()), event)})


def _held(before: LotRecord | None, event: LotHeld) -> LotRecord:
    """A lot that was on hold already stays so since then, for one reason more."""
    if before is None or before.status is not LotStatus.ON_HOLD:
        return LotRecord(LotStatus.ON_HOLD, event.at, event.reason)
    return replace(before, reason=f"{before.reason}; {event.reason}")


def _acts(state: State, recorded: Recorded, lot: LotCode) -> tuple[Act, ...]:
    """A hold that an act led to goes back with the act."""
    last = state.acts[-1] if state.acts else None
    if last is None or last.command_id != recorded.command_id:
        return state.acts
    return (*state.acts[:-1], replace(last, lots_before={lot: state.lots.get(lot), **last.lots_before}))


def _cleared(state: State, event: LotDecided) -> State:
    """Tasks in hand with discarded food end: the machine or the place is free again. What was done with it for orders
    that are still to be handed over is to be done again, with other food."""
    plan = state.plan
    if plan is None:
        return state
    tasks: dict[TaskId, TaskRecord] = dict(state.tasks)
    takings = dict(state.takings)
    again = _orders_open(state, event.lot)
    for task in plan.tasks:
        record = tasks.get(task.id)
        if task.lot == event.lot and record is not None and record.status is TaskStatus.IN_HAND:
            tasks[task.id] = replace(
                record,
                status=TaskStatus.SKIPPED,
                finished_at=event.at,
                finished_by=event.person,
                reason=event.reason,
            )
        elif record is not None and task.lot is None and (task.order, task.recipe) in again:
            tasks.pop(task.id)
            takings.pop(task.id, None)
    return replace(state, tasks=tasks, takings=takings)


def _orders_open(state: State, lot: LotCode) -> set[tuple[OrderId | None, RecipeId | None]]:
    """Order lines that have taken from a lot and are not handed over."""
    tasks = {task.id: task for task in (state.plan.tasks if state.plan is not None else ())}
    took = {t for t, taking in state.takings.items() if lot in taking.lots and t in tasks and tasks[t].lot is None}
    lines = {(tasks[task].order, tasks[task].recipe) for task in took}
    over = {
        (task.order, task.recipe)
        for task in tasks.values()
        if task.process is Process.HAND_OVER and state.record(task.id).status is TaskStatus.DONE
    }
    return lines - over
