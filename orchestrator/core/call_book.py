"""All that is known of calls: those on record, whose turn it is about which alarm, and which channels reach anybody."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from orchestrator.core.ids import AlarmId, CalleeId
from orchestrator.core.models.calls import Call, CallStatus, CallWhy, ChannelState

KEPT: Final = 100
"""So many calls are kept at hand, the newest; the log has all."""


@dataclass(frozen=True, slots=True)
class Turn:
    """How far the calls about one alarm have come."""

    last: CalleeId
    """Who was called last, in the order of the list."""
    call: int
    """That call."""
    at: datetime
    """When it was made."""
    held: frozenset[CalleeId] = frozenset()
    """Who was passed over in quiet hours, and not called about it since."""


@dataclass(frozen=True, slots=True)
class CallBook:
    """Calls, turns and channels; all of it follows from events."""

    calls: tuple[Call, ...] = ()
    """The newest last; those on their way are kept whatever their age."""
    turns: Mapping[AlarmId, Turn] = field(default_factory=dict)
    """Of alarms that have called somebody and are on record."""
    channels: Mapping[tuple[CalleeId, str], ChannelState] = field(default_factory=dict)
    """By person and name of the channel; those never tried are not there."""
    unset: frozenset[str] = frozenset()
    """Names under which no address was found when the program started."""

    def call(self, seq: int) -> Call | None:
        """The call of that number, while it is kept."""
        return next((one for one in reversed(self.calls) if one.seq == seq), None)

    def on_their_way(self) -> tuple[Call, ...]:
        """Calls of which nobody knows yet whether they reached anybody."""
        return tuple(one for one in self.calls if one.status is CallStatus.MADE)

    def last_to(self, callee: CalleeId) -> datetime | None:
        """When somebody was last called about an alarm."""
        found = (one.made_at for one in reversed(self.calls) if one.to == callee and one.why is not CallWhy.TEST)
        return next(found, None)
