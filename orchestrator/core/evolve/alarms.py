"""The life of an alarm on record, after ANSI/ISA-18.2; `alarm_lifecycle` is its table."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import assert_never

from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
)
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import NIGHT, Alarm, AlarmStatus
from orchestrator.core.state import State

AlarmEvent = AlarmRaised | AlarmEscalated | AlarmAcknowledged | AlarmReturned | AlarmShelved | AlarmUnshelved
_UNSEEN = AlarmStatus.UNACKNOWLEDGED


def apply(state: State, event: AlarmEvent) -> State:
    """An alarm is raised, becomes worse, is seen, shelved or over; seen and over, it leaves the record."""
    known = state.alarms.get(event.alarm)
    after = _alarm(known, event)
    rest: Mapping[AlarmId, Alarm] = {id_: alarm for id_, alarm in state.alarms.items() if id_ != event.alarm}
    raised = _raised(state, event.at) if isinstance(event, AlarmRaised) else state.raised
    return replace(state, alarms=rest if after is None else {**rest, event.alarm: after}, raised=raised)


def _raised(state: State, at: datetime) -> tuple[datetime, ...]:
    return (*(one for one in state.raised if one > at - NIGHT), at)


def _alarm(known: Alarm | None, event: AlarmEvent) -> Alarm | None:  # noqa: PLR0911 - a table of events
    match event:
        case AlarmRaised():
            if known is not None and known.shelved:
                return _with(known, facts=event.facts, raised_at=event.at, returned_at=None)
            return Alarm(id=event.alarm, facts=event.facts, status=_UNSEEN, raised_at=event.at)
        case AlarmEscalated():
            raised_at = known.raised_at if known is not None else event.at
            # What has become worse must be seen again.
            return Alarm(id=event.alarm, facts=event.facts, status=_UNSEEN, raised_at=raised_at, escalated_at=event.at)
        case AlarmAcknowledged():
            if known is None or known.status is AlarmStatus.RETURNED_UNACKNOWLEDGED:
                return None
            status = AlarmStatus.ACKNOWLEDGED
            return _with(known, status=status, acknowledged_by=event.person, acknowledged_at=event.at)
        case AlarmReturned():
            return _returned(known, event)
        case AlarmShelved():
            return None if known is None else _shelved(known, event)
        case AlarmUnshelved():
            return _unshelved(known, event)
        case _:
            assert_never(event)


def _returned(known: Alarm | None, event: AlarmReturned) -> Alarm | None:
    if known is None or known.status is AlarmStatus.ACKNOWLEDGED:
        return None
    if known.shelved:
        return _with(known, returned_at=event.at)
    return _with(known, status=AlarmStatus.RETURNED_UNACKNOWLEDGED, returned_at=event.at)


def _shelved(known: Alarm, event: AlarmShelved) -> Alarm:
    return _with(
        known,
        status=AlarmStatus.SHELVED,
        shelved_at=event.at,
        shelved_by=event.person,
        shelved_until=event.until,
        shelf_reason=event.reason,
        unshelved_at=None,
    )


def _unshelved(known: Alarm | None, event: AlarmUnshelved) -> Alarm | None:
    """Off the shelf with its cause there, it must be seen anew; with its cause over, it is gone."""
    if known is None or not known.standing:
        return None
    return Alarm(
        id=known.id,
        facts=known.facts,
        status=_UNSEEN,
        raised_at=known.raised_at,
        escalated_at=known.escalated_at,
        unshelved_at=event.at,
    )


def _with(known: Alarm, **changes: object) -> Alarm:
    return known.model_copy(update=changes)
