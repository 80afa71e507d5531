"""The order in which readings are judged, also of those whose own time is ahead of the kitchen's clock."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Reading

_FARTHEST_AHEAD: Final = timedelta(hours=24)
"""No reading is kept that is further ahead than this."""
_AT_ONCE: Final = timedelta(seconds=1)
"""Readings that come faster were kept somewhere on their way: of those only the newest can be from just now."""


def in_turn(readings: Iterable[Reading]) -> list[Reading]:
    """Readings by the time that they are judged by.

    Of readings that are ahead and came together (a backlog, sent to a kitchen whose clock was set back) all but the
    newest are left out: they are kept, but when they were measured nobody knows.
    """
    ordered = sorted(readings, key=lambda one: (one.judged_at, one.measured_at))
    found: list[Reading] = []
    next_ahead: dict[ProbeId, datetime] = {}
    for one in reversed(ordered):
        if one.ahead:
            came_next = next_ahead.get(one.probe)
            next_ahead[one.probe] = one.judged_at
            if came_next is not None and came_next - one.judged_at < _AT_ONCE:
                continue
        found.append(one)
    found.reverse()
    return found


def judged_between(
    between: Callable[[ProbeId, datetime, datetime], Sequence[Reading]],
    probe: ProbeId,
    since: datetime,
    until: datetime,
) -> list[Reading]:
    """Stored readings that are judged by a time between two instants, both included, in turn.

    Args:
        between: Reads them by their own time.
        probe: Whose.
        since: The first instant.
        until: The last one.
    """
    found = between(probe, since, until + _FARTHEST_AHEAD)
    return in_turn(one for one in found if since <= one.judged_at <= until)
