"""What goes on whether the engine runs or not: true time, and a queue of happenings in it."""

import heapq
import itertools
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from tests.simulation.faulty.sim_clock import WallClock
from tests.simulation.faulty.virtual_loop import MachineGone, VirtualLoop

Happening = Callable[[], None]


@dataclass(slots=True)
class World:
    """True time and what happens in it; the engine's loop runs in between while there is one.

    Args:
        on_gone: Told when the machine lost its power in the middle of something.
    """

    origin: datetime
    on_gone: Callable[[], None] = lambda: None
    loop: VirtualLoop | None = None
    _now_s: float = 0.0
    _queue: list[tuple[float, int, Happening]] = field(default_factory=list)
    _numbers: "itertools.count[int]" = field(default_factory=itertools.count)
    clock: WallClock = field(init=False)

    def __post_init__(self) -> None:
        self.clock = WallClock(self.origin, lambda: self.now_s)

    @property
    def now_s(self) -> float:
        """Seconds since the beginning, in truth."""
        return self._now_s if self.loop is None else max(self.loop.time(), self._now_s)

    def after(self, seconds: float, happening: Happening) -> None:
        """Let something happen later."""
        at_s = self.now_s + max(seconds, 0.0)
        heapq.heappush(self._queue, (at_s, next(self._numbers), happening))
        if self.loop is not None and self.loop.is_running():  # it must not run past it
            self.loop.call_at(at_s, self.loop.stop)

    def pass_to(self, until_s: float, done: Callable[[], bool] = lambda: False) -> None:
        """Let time pass, or until something is so."""
        while not done():
            next_s = min(until_s, self._queue[0][0]) if self._queue else until_s
            if self.loop is not None:
                try:
                    self.loop.run_to(next_s)
                except MachineGone:
                    self.power_gone()
                    continue
                next_s = self.loop.time()
            self._now_s = max(self._now_s, next_s)
            if self._queue and self._queue[0][0] <= self._now_s:
                _, _, happening = heapq.heappop(self._queue)
                try:
                    happening()
                except MachineGone:
                    self.power_gone()
            elif self._now_s >= until_s:
                return

    def power_gone(self) -> None:
        """The engine is gone with all that it had in memory."""
        if self.loop is not None:
            self._now_s = max(self._now_s, self.loop.time())
            self.loop.drop()
            self.loop = None
            self.clock.forget()
        self.on_gone()
