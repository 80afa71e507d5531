"""What holding and deciding change about a lot."""

from dataclasses import replace
from typing import Final

from orchestrator.core.events import LotDecided, LotHeld, Recorded
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.state import Act, LotRecord, LotStatus, State, TaskRecord, TaskStatus

_DECIDED: Final = {"release": LotStatus.FREE, "rework": LotStatus.REWORK, "discard": LotStatus.DISCARDED}


def apply(state: State, recorded: Recorded, event: LotHeld | LotDecided) -> State:
    """The lot's record changes; what is left of a discarded lot leaves its place."""
    if isinstance(event, LotHeld):
        record = LotRecord(LotStatus.ON_HOLD, event.at, event.reason)
        acts = _acts(state, recorded, event.lot)
        return replace(state, lots={**state.lots, event.lot: record}, acts=acts)
    status = _DECIDED[event.decision]
    record = LotRecord(status, event.at, event.reason, event.person)
    after = replace(state, lots={**state.lots, event.lot: record})
    return _cleared(after, event) if status is LotStatus.DISCARDED else after


def _acts(state: State, recorded: Recorded, lot: LotCode) -> tuple[Act, ...]:
    """A hold that an act led to goes back with the act."""
    last = state.acts[-1] if state.acts else None
    if last is None or last.command_id != recorded.command_id:
        return state.acts
    return (*state.acts[:-1], replace(last, lots_before={lot: state.lots.get(lot), **last.lots_before}))


def _cleared(state: State, event: LotDecided) -> State:
    """Tasks in hand with discarded food end: the machine or the place is free again."""
    plan = state.plan
    if plan is None:
        return state
    tasks: dict[TaskId, TaskRecord] = dict(state.tasks)
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
    return replace(state, tasks=tasks)
