"""Refused acts are counted and written down, the same ones of a minute in one line. No secret ever gets here."""

import logging
import threading
from collections import Counter, OrderedDict
from collections.abc import Callable
from datetime import datetime
from typing import Final, NamedTuple

from orchestrator.ports.access import AccessStore, Caller, RefusedAct
from orchestrator.ports.event_log import LogUnavailable

log = logging.getLogger(__name__)

TOGETHER_S: Final = 60.0
MOST_KEYS: Final = 500
MOST_LINES: Final = 600
"""New lines an hour; beyond that acts are only counted, so that nobody fills a disk by being refused."""
HOUR_S: Final = 3600.0


class _Line(NamedTuple):
    number: int
    times: int
    since: float


class Notes:
    """Writes to the store; what cannot be written is counted all the same."""

    def __init__(
        self, store: AccessStore | None, clock: Callable[[], datetime], monotonic: Callable[[], float]
    ) -> None:
        """Args:
        store: None: counts only.
        clock: The real time.
        monotonic: Seconds that only go forward.
        """
        self._store, self._clock, self._monotonic = store, clock, monotonic
        self.counts: Counter[str] = Counter()
        self._lines: OrderedDict[tuple[str, ...], _Line] = OrderedDict()
        self._hour = (0.0, 0)
        self._lock = threading.Lock()

    def refused(self, source: str, caller: Caller | None, what: str, reason: str) -> None:
        """One more.

        Args:
            source: Network address.
            caller: Whoever is known.
            what: Method and path without its query, or the act.
            reason: One of `ports.access.REASONS`.
        """
        who = "" if caller is None or caller.kind == "open" else caller.name
        with self._lock:
            self.counts[reason] += 1
            try:
                self._write((source, who, what, reason))
            except LogUnavailable as error:
                log.error("a refused act (%s) could not be written down: %s", reason, error)

    def _write(self, key: tuple[str, str, str, str]) -> None:
        if self._store is None:
            return
        now, at = self._monotonic(), self._clock()
        line = self._lines.get(key)
        if line is not None and now - line.since < TOGETHER_S:
            line = line._replace(times=line.times + 1)
            self._lines[key] = line
            if line.times & (line.times - 1) == 0:  # at 2, 4, 8 ... so that a flood costs few writes
                self._store.noted_again(line.number, line.times, at)
            return
        if self._room(now):
            self._lines[key] = _Line(self._store.note(RefusedAct(at, *key)), 1, now)
            self._lines.move_to_end(key)
            while len(self._lines) > MOST_KEYS:
                self._lines.popitem(last=False)

    def _room(self, now: float) -> bool:
        since, count = self._hour
        if now - since >= HOUR_S:
            since, count = now, 0
        self._hour = (since, count + 1)
        return count < MOST_LINES
