"""Who may be picked at a screen, and alarms in the order in which they must be seen."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from orchestrator.core.alarms import Look
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmStatus, Priority
from orchestrator.core.plan_index import working
from orchestrator.core.views.models import PersonView

_SEEN: Final = {
    AlarmStatus.UNACKNOWLEDGED: 0,
    AlarmStatus.ACKNOWLEDGED: 1,
    AlarmStatus.RETURNED_UNACKNOWLEDGED: 2,
    AlarmStatus.SHELVED: 3,
}
_RANK: Final = {Priority.CRITICAL: 0, Priority.WARNING: 1, Priority.NOTICE: 2}


def person_views(look: Look) -> tuple[PersonView, ...]:
    """The kitchen's own crew list."""
    return tuple(
        PersonView(
            id=member.id,
            name=member.name,
            on_shift=any(start <= look.now < end for start, end in working(member)),
            manager=member.manager,
        )
        for member in look.kitchen.crew.values()
    )


def sorted_alarms(alarms: Iterable[Alarm]) -> tuple[Alarm, ...]:
    """Not seen first, what is on the shelf last, then what matters most, missed before threatening, then the oldest."""
    return tuple(sorted(alarms, key=pressing))


def pressing(alarm: Alarm) -> tuple[int, int, bool, datetime, AlarmId]:
    """By what alarms are ordered, on every screen alike."""
    facts = alarm.facts
    return _SEEN[alarm.status], _RANK[facts.priority], not facts.missed, alarm.raised_at, alarm.id
