"""Which alarms may be put on the shelf, and until when at most.

Source: ANSI/ISA-18.2 asks that shelving be limited in time, by a known person, and that the shelved be shown; from
memory. It gives no figures: those here are ours.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarm_rationale import RATIONALE, critical_for_food
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmStatus, Priority

LONGEST: Final[Mapping[Priority, timedelta]] = {
    Priority.CRITICAL: timedelta(minutes=30),
    Priority.WARNING: timedelta(hours=2),
    Priority.NOTICE: timedelta(hours=12),
}
"""So long at most; a probe that is sent away is noticed, a freezer that warms is not forgotten."""
BEFORE: Final = timedelta(minutes=10)
"""So long before a miss, or before the last instant that saves, the shelf ends: time to act is left."""
LEAST: Final = timedelta(minutes=5)
"""For less than this nobody needs the shelf."""


def latest_end(facts: AlarmFacts, now: datetime) -> datetime:
    """Until when an alarm may be on the shelf: its priority's longest, and never past what would be missed."""
    marks = [] if facts.missed else [m for m in (facts.limit_at, facts.save_by) if m is not None and m > now]
    return min([now + LONGEST[facts.priority], *(mark - BEFORE for mark in marks)])


def why_not(alarm: Alarm, now: datetime) -> tuple[str, str] | None:
    """Why an alarm cannot be put on the shelf, and what to do instead; none when it can."""
    facts = alarm.facts
    if alarm.status is AlarmStatus.RETURNED_UNACKNOWLEDGED:
        return "over already", "mark it as seen"
    if critical_for_food(facts):
        instead = RATIONALE[facts.kind].instead
        return "critical for food: it cannot be made quiet", f"mark it as seen, which ends its sound; then {instead}"
    if latest_end(facts, now) < now + LEAST:
        return "too little time left to make it quiet", f"mark it as seen, and {RATIONALE[facts.kind].instead}"
    return None
