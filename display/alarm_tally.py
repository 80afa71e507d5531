"""The figures of alarms, followed along the log: one tally for each gateway, for page, CSV and HTTP interface."""

import threading
from typing import Final
from weakref import WeakKeyDictionary

from display.log_reading import Follower
from orchestrator.core.alarm_figures import Figures, Tally, figures
from orchestrator.gateway.door import Gateway, Snapshot

DAYS: Final = (1, 7, 30)
LOOKED_AT: Final = 50_000
"""How many of the latest events are looked through, once; from then on only what is new."""


class TallyLog:
    """One tally, which follows the log as it is asked."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._log = Follower(LOOKED_AT)
        self.tally = Tally()

    def figures(self, gateway: Gateway, snapshot: Snapshot, days: int) -> Figures:
        """The figures of the last days, as of the snapshot."""
        state = snapshot.state
        with self._lock:
            self.tally.take(self._log.gained(gateway, state.seq))
            return figures(self.tally, tuple(state.alarms.values()), snapshot.now, days=days)


_LOGS: WeakKeyDictionary[Gateway, TallyLog] = WeakKeyDictionary()


def figures_of(gateway: Gateway, snapshot: Snapshot, days: int) -> Figures:
    """The figures of the last days, as of a snapshot."""
    return _LOGS.setdefault(gateway, TallyLog()).figures(gateway, snapshot, days)
