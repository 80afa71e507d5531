"""The clock of demos and tests: runs fast, pauses and jumps; and the timer that goes with it."""

import asyncio
import threading
import time
from collections.abc import Callable
from datetime import datetime, timedelta

from orchestrator.ports.clock import Clock

_SHORTEST_WAIT_S = 0.002
"""Real seconds: just before an instant at which the clock is held, timers look again no more often."""


class ScaledClock:
    """Implements `ports.clock.Clock`. Never runs backwards; every method may be called from any thread.

    After a restart it goes on where it was by being given its last instant as the start.
    """

    def __init__(self, start: datetime, rate: float = 1.0, monotonic: Callable[[], float] = time.monotonic) -> None:
        """Begin at an aware instant, running ``rate`` kitchen seconds a real second."""
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._from = start
        self._since = monotonic()
        self._rate = _checked(rate)
        self._granted: datetime | None = None
        self._followers: list[Callable[[], None]] = []

    def now(self) -> datetime:
        """The kitchen's present instant."""
        with self._lock:
            return self._now()

    def _now(self) -> datetime:
        now = self._from + timedelta(seconds=(self._monotonic() - self._since) * self._rate)
        return now if self._granted is None else min(now, max(self._granted, self._from))

    @property
    def rate(self) -> float:
        """Kitchen seconds a real second; 0 while paused."""
        return self._rate

    def set_rate(self, rate: float) -> None:
        """Run that many times faster from now on; 0 pauses. Raises: ValueError for a negative rate."""
        with self._lock:
            self._from, self._since, self._rate = self._now(), self._monotonic(), _checked(rate)
        self._tell()

    def grant(self, until: datetime) -> None:
        """Stand still at that instant unless more is granted before: time does not outrun whoever lives by it.

        Time that passed while it stood is not made up for.
        """
        with self._lock:
            self._from, self._since, self._granted = self._now(), self._monotonic(), until

    def jump(self, to: datetime) -> None:
        """Go on from that instant. Raises: ValueError when it is in the past, because time never runs back."""
        with self._lock:
            if to < self._now():
                raise ValueError(f"{to.isoformat()} is already past")
            self._from, self._since = to, self._monotonic()
            if self._granted is not None:
                self._granted = max(self._granted, to)
        self._tell()

    def follow(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Call back after every change of rate and every jump, in the thread that made it; returns how to stop."""
        self._followers.append(callback)

        def stop() -> None:
            if callback in self._followers:
                self._followers.remove(callback)

        return stop

    def _tell(self) -> None:
        for follower in tuple(self._followers):
            follower()


def _checked(rate: float) -> float:
    if not 0 <= rate < float("inf"):
        raise ValueError(f"a clock cannot run at {rate}: give 0 or more")
    return rate


class ScaledTimers:
    """Implements `ports.clock.Timers` for a `ScaledClock`: waits in real time, anew whenever the clock changes."""

    def __init__(self, clock: ScaledClock, callback: Callable[[], None]) -> None:
        """Bind to the running loop, in which the callback is called."""
        self._clock: Clock = clock
        self._callback = callback
        self._loop = asyncio.get_running_loop()
        self._at: datetime | None = None
        self._handle: asyncio.TimerHandle | None = None
        self._closed = False
        self._unfollow = clock.follow(self._clock_changed)

    def arm(self, at: datetime | None) -> None:
        """Call back at that instant, or never; replaces what was armed before. Loop thread only."""
        self._at = None if self._closed else at
        self._wait()

    def arm_in(self, span: timedelta) -> None:
        """Call back when so much kitchen time has passed: this clock never runs back."""
        self.arm(self._clock.now() + span)

    def _clock_changed(self) -> None:
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._wait)

    def _wait(self) -> None:
        if self._handle is not None:
            self._handle.cancel()
            self._handle = None
        if self._at is None:
            return
        left_s = (self._at - self._clock.now()).total_seconds()
        if left_s <= 0:
            self._handle = self._loop.call_soon(self._ring)  # type: ignore[assignment]  # both can be cancelled
        elif self._clock.rate > 0:
            self._handle = self._loop.call_later(max(left_s / self._clock.rate, _SHORTEST_WAIT_S), self._wait)

    def _ring(self) -> None:
        self._handle, self._at = None, None
        self._callback()

    def close(self) -> None:
        """Disarm for good."""
        self._closed = True
        self._unfollow()
        self.arm(None)
