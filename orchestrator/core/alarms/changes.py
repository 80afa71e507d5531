"""From conditions to events: raised, escalated, returned.

An alarm lives through the states of ANSI/ISA-18.2: normal, unacknowledged, acknowledged, returned
unacknowledged. Whoever acknowledges moves it on; this module sees to the rest.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from orchestrator.core.events import AlarmEscalated, AlarmRaised, AlarmReturned, Event
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmStatus, Priority

_RANK: Final = {Priority.NOTICE: 0, Priority.WARNING: 1, Priority.CRITICAL: 2}


def worse(before: AlarmFacts, after: AlarmFacts) -> bool:
    """Whether people must be told again: missed now, matters more, or touches more orders.

    Another temperature or another expected time alone is not told again.
    """
    missed = after.missed and not before.missed
    matters_more = _RANK[after.priority] > _RANK[before.priority]
    return missed or matters_more or not set(after.orders) <= set(before.orders)


def changes(
    alarms: Mapping[AlarmId, Alarm], conditions: Mapping[AlarmId, AlarmFacts], now: datetime
) -> tuple[Event, ...]:
    """Compare what stands on record with what is so.

    | On record              | Condition | Event                     |
    |------------------------|-----------|---------------------------|
    | nothing                | yes       | raised                    |
    | unacknowledged         | worse     | escalated                 |
    | acknowledged           | worse     | escalated                 |
    | returned unacknowledged| yes       | raised again              |
    | unacknowledged         | no        | returned                  |
    | acknowledged           | no        | returned (and gone)       |
    | returned unacknowledged| no        | none, until it is seen    |
    """
    events: list[Event] = []
    for alarm_id, facts in conditions.items():
        known = alarms.get(alarm_id)
        if known is None or known.status is AlarmStatus.RETURNED_UNACKNOWLEDGED:
            events.append(AlarmRaised(alarm=alarm_id, at=now, facts=facts))
        elif worse(known.facts, facts):
            events.append(AlarmEscalated(alarm=alarm_id, at=now, facts=facts))
    for alarm_id, known in alarms.items():
        if alarm_id not in conditions and known.status is not AlarmStatus.RETURNED_UNACKNOWLEDGED:
            events.append(AlarmReturned(alarm=alarm_id, at=now))
    return tuple(events)
