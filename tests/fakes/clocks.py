"""A clock that stands still until it is moved, and the timers that ring when it is."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

START = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


class HandClock:
    """Moved by hand; timers made by `timers` ring, in order, on the way."""

    def __init__(self, start: datetime = START) -> None:
        self._now = start
        self._timers: list[HandTimers] = []
        self.rate = 1.0

    def now(self) -> datetime:
        return self._now

    def timers(self, callback: Callable[[], None]) -> "HandTimers":
        made = HandTimers(self, callback)
        self._timers.append(made)
        return made

    def move(self, **by: float) -> None:
        """Move forward, ringing what is due at its instant."""
        until = self._now + timedelta(**by)
        while (due := self._next(until)) is not None:
            self._now = max(self._now, due.at or until)
            due.ring()
        self._now = until

    def set_back(self, **by: float) -> None:
        """Somebody sets it: what waits for a span goes on waiting for what is left of it."""
        back = timedelta(**by)
        self._now -= back
        for timers in self._timers:
            if timers.by_span and timers.at is not None:
                timers.at -= back

    def _next(self, until: datetime) -> "HandTimers | None":
        armed = [t for t in self._timers if t.at is not None and t.at <= until]
        return min(armed, key=lambda t: t.at or until, default=None)


class HandTimers:
    """Implements `ports.clock.Timers`; an instant that is past rings with the next move."""

    def __init__(self, clock: HandClock, callback: Callable[[], None]) -> None:
        self._clock = clock
        self._callback = callback
        self.at: datetime | None = None
        self.by_span = False
        self.closed = False

    def arm(self, at: datetime | None) -> None:
        self.at = None if self.closed else at
        self.by_span = False

    def arm_in(self, span: timedelta) -> None:
        self.arm(self._clock.now() + span)
        self.by_span = True

    def ring(self) -> None:
        self.at = None
        self._callback()

    def close(self) -> None:
        self.closed = True
        self.at = None
