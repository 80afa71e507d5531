"""From conditions to events: raised, escalated, returned.

Whoever acknowledges, shelves or takes off the shelf moves an alarm on; this module sees to the rest.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Final

from orchestrator.core.alarm_rationale import critical_for_food
from orchestrator.core.events import AlarmEscalated, AlarmRaised, AlarmReturned, AlarmUnshelved, Event
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, Priority

_RANK: Final = {Priority.NOTICE: 0, Priority.WARNING: 1, Priority.CRITICAL: 2}


def worse(before: AlarmFacts, after: AlarmFacts) -> bool:
    """Whether people must be told again: missed now, matters more, touches more orders, or more lots are past a date.

    Another temperature or another expected time alone is not told again.
    """
    missed = after.missed and not before.missed
    matters_more = _RANK[after.priority] > _RANK[before.priority]
    more_past = not {one.lot for one in after.past} <= {one.lot for one in before.past}
    return missed or matters_more or more_past or not set(after.orders) <= set(before.orders)


def changes(
    alarms: Mapping[AlarmId, Alarm], conditions: Mapping[AlarmId, AlarmFacts], now: datetime
) -> tuple[Event, ...]:
    """Compare what stands on record with what is so; the states are those of `alarm_lifecycle`.

    | On record               | Condition | Event                                |
    |-------------------------|-----------|--------------------------------------|
    | nothing                 | yes       | raised                               |
    | unacknowledged          | worse     | escalated                            |
    | acknowledged            | worse     | escalated                            |
    | returned unacknowledged | yes       | raised again                         |
    | unacknowledged          | no        | returned                             |
    | acknowledged            | no        | returned (and gone)                  |
    | returned unacknowledged | no        | none, until it is seen               |
    | shelved                 | worse     | escalated, which ends the shelf      |
    | shelved, over           | yes       | raised, on the shelf                 |
    | shelved, over           | worse     | off the shelf, then raised           |
    | shelved                 | no        | returned, on the shelf               |
    | shelved, at its end     | yes       | off the shelf (raised, if it is new) |
    | shelved, at its end     | no        | off the shelf (and gone)             |
    """
    events: list[Event] = []
    for alarm_id in dict.fromkeys((*conditions, *alarms)):
        known, facts = alarms.get(alarm_id), conditions.get(alarm_id)
        if known is not None and known.shelved:
            events += _on_the_shelf(known, facts, now)
        elif facts is None:
            if known is not None and known.standing:
                events.append(AlarmReturned(alarm=alarm_id, at=now))
        elif known is None or not known.standing:
            events.append(AlarmRaised(alarm=alarm_id, at=now, facts=facts))
        elif worse(known.facts, facts):
            events.append(AlarmEscalated(alarm=alarm_id, at=now, facts=facts))
    return tuple(events)


def _on_the_shelf(known: Alarm, facts: AlarmFacts | None, now: datetime) -> Iterator[Event]:
    """Quiet does not mean unwatched: what comes, goes or becomes worse is put on record all the same."""
    ends = known.shelved_until is not None and known.shelved_until <= now
    off = AlarmUnshelved(alarm=known.id, at=now)
    if facts is None:
        if known.standing:
            yield AlarmReturned(alarm=known.id, at=now)
        if ends:
            yield off
    elif known.standing:
        if worse(known.facts, facts):
            yield AlarmEscalated(alarm=known.id, at=now, facts=facts)
        elif ends:
            yield off
    else:
        if ends or worse(known.facts, facts) or critical_for_food(facts):
            yield off
        yield AlarmRaised(alarm=known.id, at=now, facts=facts)
