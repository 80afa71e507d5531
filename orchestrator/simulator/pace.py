"""How fast a demo's clock goes: slow while somebody is needed, fast while nobody is; real time is always real."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import State, TaskStatus

CRUISE: Final = 12.0
"""So many times faster while nobody is needed."""
_REAL: Final = 1.0
FASTEST: Final = 900.0
"""A quarter of an hour a second: thermometers are still heard several times within a probe's silence."""
_LEAD_S: Final = 4.0
"""Real seconds before somebody is needed in which the clock slows down."""


def pace(state: State, now: datetime, speed: float) -> float:
    """Kitchen seconds a real second.

    Args:
        state: What is in hand and what is planned.
        now: The kitchen's time.
        speed: The rate while somebody is needed. Real time is real at all times: whoever plays cook by it relies on
            every countdown.
    """
    if speed <= _REAL:
        return speed
    need = next_need(state, now)
    cruise = max(speed, min(speed * CRUISE, FASTEST))
    if need is None:
        return cruise
    left_s = (need - now).total_seconds()
    slow_s = speed * _LEAD_S
    if left_s <= slow_s:
        return speed
    return min(cruise, max(speed, (left_s - slow_s) * 2.0))  # never past the need within half a second


def next_need(state: State, now: datetime) -> datetime | None:
    """When hands are needed next; now while they are."""
    if state.plan is None:
        return None
    needs = [need for task in state.plan.tasks if (need := _need(state, task, now)) is not None]
    need = min(needs, default=None)
    return None if need is None else _when_somebody_is_there(state, need)


def _when_somebody_is_there(state: State, need: datetime) -> datetime:
    """What comes up while nobody is on shift is seen to when the next one begins."""
    shifts = [shift for member in state.kitchen.crew for shift in member.shifts] if state.kitchen is not None else []
    if any(shift.start <= need < shift.end for shift in shifts):
        return need
    return min((shift.start for shift in shifts if shift.start > need), default=need)


def _need(state: State, task: PlannedTask, now: datetime) -> datetime | None:
    record = state.record(task.id)
    if task.kind is TaskKind.STAY or record.status in (TaskStatus.DONE, TaskStatus.SKIPPED):
        return None
    if record.status is TaskStatus.WAITING:
        return max(task.start, now) if task.attended and task.start > now - timedelta(hours=1) else None
    spans = [span for span in task.spans if span.end > now]
    if spans:
        return max(spans[0].start, now)
    return max(task.end, now)


def next_moment(state: State, now: datetime) -> datetime | None:
    """The next planned start or end after now: where 'jump' goes."""
    if state.plan is None:
        return None
    moments = []
    for task in state.plan.tasks:
        status = state.record(task.id).status
        if task.kind is TaskKind.STAY:
            continue
        if status is TaskStatus.WAITING:
            moments.append(task.start)
        elif status is TaskStatus.IN_HAND:
            moments.append(task.end)
    return min((moment for moment in moments if moment > now), default=None)
