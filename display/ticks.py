"""What is ticked while somebody weighs, shared between the screens of a task: a help for the eye, never on record."""

import threading
from collections.abc import Callable
from datetime import datetime
from typing import Final, NamedTuple

TICKS: Final = "coldwright-ticks"
MOST: Final = 4000
"""Ticks that are held at once; the oldest is forgotten first. A week of a large kitchen has fewer."""


class Tick(NamedTuple):
    """The state of one box."""

    on: bool
    at_ms: int
    """The kitchen's time at which it was ticked or unticked, in milliseconds since 1970."""


class TickBook:
    """All boxes that any screen has touched. May be used from any thread.

    It lives as long as the program: after a restart the screens, which keep their own, tell it again.
    """

    def __init__(self) -> None:
        self._ticks: dict[tuple[str, str], Tick] = {}
        self._lock = threading.Lock()
        self._changed: Callable[[], None] = lambda: None

    def listen(self, changed: Callable[[], None]) -> None:
        """Who is told of every change."""
        self._changed = changed

    def of(self, task: str, what: str) -> Tick | None:
        """What is known of a box."""
        with self._lock:
            return self._ticks.get((task, what))

    def put(self, task: str, what: str, on: bool, at_ms: int, now: datetime) -> None:
        """Tick or untick, unless somebody did so later. A screen's clock that runs ahead wins nothing."""
        tick = Tick(on, min(at_ms, int(now.timestamp() * 1000)))
        with self._lock:
            before = self._ticks.pop((task, what), None)
            if before is not None and before.at_ms > tick.at_ms:
                self._ticks[task, what] = before
                return
            self._ticks[task, what] = tick
            while len(self._ticks) > MOST:
                del self._ticks[next(iter(self._ticks))]
        if before != tick:
            self._changed()
