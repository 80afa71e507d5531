"""A clock that runs fast, stands still or jumps, and the timers that go by it."""

import asyncio
import threading
import time
from collections.abc import Callable
from datetime import datetime, timedelta


class SimulatedClock:
    """Implements `ports.clock.Clock`; may be read and set from any thread. It never goes back.

    Args:
        start: The instant it shows first; aware, UTC.
        rate: Kitchen seconds a real second.
    """

    def __init__(self, start: datetime, rate: float = 0.0, real_s: Callable[[], float] = time.monotonic) -> None:
        self._lock = threading.Lock()
        self._real_s = real_s
        self._at, self._since_s = start, real_s()
        self._rate = rate
        self._held = False
        self._listeners: list[Callable[[], None]] = []

    def now(self) -> datetime:
        """The present instant."""
        with self._lock:
            return self._now()

    def _now(self) -> datetime:
        return self._at + timedelta(seconds=(self._real_s() - self._since_s) * self._running())

    def _running(self) -> float:
        return 0.0 if self._held else self._rate

    @property
    def rate(self) -> float:
        """Kitchen seconds a real second; 0 while it stands."""
        return self._running()

    def set_rate(self, rate: float) -> None:
        """Go that fast from now on; 0 stands still."""
        if rate < 0:
            raise ValueError("a clock does not run backwards")
        self._change(rate=rate)

    def hold(self, held: bool) -> None:
        """Stand still for a moment, whatever the rate."""
        self._change(held=held)

    def jump(self, to: datetime) -> None:
        """Go to a later instant; an earlier one changes nothing."""
        self._change(to=to)

    def _change(self, rate: float | None = None, held: bool | None = None, to: datetime | None = None) -> None:
        with self._lock:
            before = (self._rate, self._held)
            now = self._now()
            self._at, self._since_s = max(now, to) if to is not None else now, self._real_s()
            self._rate = self._rate if rate is None else rate
            self._held = self._held if held is None else held
            changed = (self._rate, self._held) != before or self._at > now
        if changed:
            for listener in tuple(self._listeners):
                listener()

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call back, from the thread that changed it, after every change of rate and every jump."""
        self._listeners.append(listener)

    def timers(self, callback: Callable[[], None]) -> "ClockTimers":
        """A timer of this clock for the running loop: a factory as the engine wants one."""
        return ClockTimers(self, callback, asyncio.get_running_loop())


class ClockTimers:
    """Implements `ports.clock.Timers` on a simulated clock; follows its rate and its jumps."""

    def __init__(self, clock: SimulatedClock, callback: Callable[[], None], loop: asyncio.AbstractEventLoop) -> None:
        self._clock = clock
        self._callback = callback
        self._loop = loop
        self._at: datetime | None = None
        self._handle: asyncio.Handle | None = None
        self._closed = False
        clock.on_change(self._follow)

    def arm(self, at: datetime | None) -> None:
        """Call back at that instant of the clock, or never."""
        self._at = at
        self._schedule()

    def close(self) -> None:
        """Disarm for good."""
        self._closed = True
        self.arm(None)

    def _follow(self) -> None:
        if not self._closed and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._schedule)

    def _schedule(self) -> None:
        if self._handle is not None:
            self._handle.cancel()
            self._handle = None
        if self._at is None:
            return
        wait_s = (self._at - self._clock.now()).total_seconds()
        if wait_s <= 0:
            self._handle = self._loop.call_soon(self._ring)
        elif (rate := self._clock.rate) > 0:
            self._handle = self._loop.call_later(wait_s / rate, self._ring)

    def _ring(self) -> None:
        self._handle = None
        if self._at is None:
            return
        if self._at > self._clock.now():
            self._schedule()
            return
        self._at = None
        self._callback()
