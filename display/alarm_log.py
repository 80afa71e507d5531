"""The latest events about alarms, followed along the log: one for each gateway, for the alarms page and the search."""

import threading
from collections import deque
from typing import Final
from weakref import WeakKeyDictionary

from display.log_reading import Follower
from display.panels import Showing
from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    Recorded,
)
from orchestrator.gateway.door import Gateway

LOOKED_AT: Final = 4000
"""How many of the latest events are looked through, once."""
LISTED: Final = 60
"""Lines of an alarm's life that the page shows; four times as many events are kept for the search."""
_ABOUT: Final = (AlarmRaised, AlarmEscalated, AlarmAcknowledged, AlarmReturned, AlarmShelved, AlarmUnshelved)


class AlarmLog:
    """What the log says of alarms."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._log = Follower(LOOKED_AT)
        self._kept: deque[Recorded] = deque(maxlen=4 * LISTED)

    def records(self, gateway: Gateway, seq: int) -> list[Recorded]:
        """Events about alarms up to ``seq``, the newest last."""
        with self._lock:
            self._kept += (r for r in self._log.gained(gateway, seq) if isinstance(r.event, _ABOUT))
            return list(self._kept)


_LOGS: WeakKeyDictionary[Gateway, AlarmLog] = WeakKeyDictionary()


def latest(showing: Showing) -> list[Recorded]:
    """Events about alarms, of the latest events of the log; the newest last."""
    return _LOGS.setdefault(showing.gateway, AlarmLog()).records(showing.gateway, showing.snapshot.state.seq)
