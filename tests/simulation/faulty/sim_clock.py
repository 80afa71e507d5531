"""The wall clock of the simulated machine, which somebody may set, and timers that notice it within a second."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

_NOTICED_S: Final = 1.0
"""A step of the clock is seen so soon, as `ApschedulerTimers` sees it."""


@dataclass(slots=True)
class WallClock:
    """Implements `ports.clock.Clock`: true time, and by how much this clock is off."""

    origin: datetime
    true_s: Callable[[], float]
    off: timedelta = timedelta()
    _steps: list[Callable[[], None]] = field(default_factory=list)

    def true(self) -> datetime:
        """What time it is in truth, whatever the clock shows."""
        return self.origin + timedelta(seconds=self.true_s())

    def now(self) -> datetime:
        """What it shows."""
        return self.true() + self.off

    @property
    def rate(self) -> float:
        """Always 1."""
        return 1.0

    def step(self, by: timedelta) -> None:
        """Somebody, or NTP, sets it."""
        self.off += by
        for told in tuple(self._steps):
            told()

    def follow(self, told: Callable[[], None]) -> None:
        """Be told of every step."""
        self._steps.append(told)

    def forget(self) -> None:
        """Whoever followed is gone with the machine."""
        self._steps.clear()


class WallTimers:
    """Implements `ports.clock.Timers` as the real ones behave: late after a step by a second, never lost."""

    def __init__(self, clock: WallClock, callback: Callable[[], None]) -> None:
        self._clock = clock
        self._callback = callback
        self._loop = asyncio.get_running_loop()
        self._at: datetime | None = None
        self._handle: asyncio.TimerHandle | None = None
        self._closed = False
        self._span: asyncio.TimerHandle | None = None
        clock.follow(lambda: self._loop.call_later(_NOTICED_S, self._look_again))

    def arm(self, at: datetime | None) -> None:
        """Call back then, or never."""
        self._at = None if self._closed else at
        self._look_again()

    def arm_in(self, span: timedelta) -> None:
        """Call back after so long by the loop's own count, which nobody sets."""
        if self._span is not None:
            self._span.cancel()
        if not self._closed:
            self._span = self._loop.call_later(span.total_seconds(), self._callback)

    def _look_again(self) -> None:
        if self._handle is not None:
            self._handle.cancel()
            self._handle = None
        if self._at is not None:
            left_s = (self._at - self._clock.now()).total_seconds()
            self._handle = self._loop.call_later(max(left_s, 0.0), self._ring)

    def _ring(self) -> None:
        if self._at is not None and self._clock.now() < self._at:  # set back meanwhile, or rounded
            self._look_again()
            return
        self._at = None
        self._callback()

    def close(self) -> None:
        """Never again."""
        self._closed = True
        if self._span is not None:
            self._span.cancel()
        self.arm(None)
