"""The life of an alarm on record, after ANSI/ISA-18.2: raised, acknowledged, returned."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from orchestrator.core.events import AlarmAcknowledged, AlarmEscalated, AlarmRaised, AlarmReturned
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.state import State

AlarmEvent = AlarmRaised | AlarmEscalated | AlarmAcknowledged | AlarmReturned


def apply(state: State, event: AlarmEvent) -> State:
    """An alarm is raised, becomes worse, is seen or is over; seen and over, it leaves the record."""
    known = state.alarms.get(event.alarm)
    after = _alarm(known, event)
    rest: Mapping[AlarmId, Alarm] = {id_: alarm for id_, alarm in state.alarms.items() if id_ != event.alarm}
    return replace(state, alarms=rest if after is None else {**rest, event.alarm: after})


def _alarm(known: Alarm | None, event: AlarmEvent) -> Alarm | None:
    unseen = AlarmStatus.UNACKNOWLEDGED
    match event:
        case AlarmRaised():
            return Alarm(id=event.alarm, facts=event.facts, status=unseen, raised_at=event.at)
        case AlarmEscalated():
            raised_at = known.raised_at if known is not None else event.at
            # What has become worse must be seen again.
            return Alarm(id=event.alarm, facts=event.facts, status=unseen, raised_at=raised_at, escalated_at=event.at)
        case AlarmAcknowledged():
            if known is None or known.status is AlarmStatus.RETURNED_UNACKNOWLEDGED:
                return None
            return _changed(known, status=AlarmStatus.ACKNOWLEDGED, by=event.person, at=event.at)
        case AlarmReturned():
            if known is None or known.status is AlarmStatus.ACKNOWLEDGED:
                return None
            return known.model_copy(update={"status": AlarmStatus.RETURNED_UNACKNOWLEDGED, "returned_at": event.at})


def _changed(known: Alarm, *, status: AlarmStatus, by: Any, at: datetime) -> Alarm:
    return known.model_copy(update={"status": status, "acknowledged_by": by, "acknowledged_at": at})
