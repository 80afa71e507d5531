"""Arms the timers: the next due instant derived from the state, and the minute in which silence is heard."""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from orchestrator.core.commands import Command, Tick
from orchestrator.engine.inbox import Answer
from orchestrator.engine.loop import new_command_id
from orchestrator.ports.clock import Clock, Timers

TimersFactory = Callable[[Callable[[], None]], Timers]
"""Makes a timer that calls back in the loop."""

LOG = logging.getLogger(__name__)
_PATIENCE = timedelta(seconds=30)
"""When a due instant is still due after its tick, it is looked at again after this long, not at once."""
_MINUTE = timedelta(minutes=1)
_SET_BACK = timedelta(seconds=30)
"""A clock that shows less than this after a minute was set back: what was armed by it is looked at again."""


class AlarmClock:
    """Wakes the engine when the state says that something is due. Nothing is stored: a restart re-arms."""

    def __init__(
        self,
        *,
        clock: Clock,
        timers: TimersFactory,
        submit: Callable[[Command], Awaitable[Answer]],
        on_minute: Callable[[], None],
    ) -> None:
        self._clock = clock
        self._submit = submit
        self._on_minute = on_minute
        self._due = timers(self._ring)
        self._minute = timers(self._ring_minute)
        self._ticking: asyncio.Task[None] | None = None
        self._minute_began = clock.now()
        self.armed_for: datetime | None = None

    def start(self) -> None:
        """Arm both timers, and look at once at what became due while nobody looked."""
        self._ring()
        self._begin_minute()

    def _begin_minute(self) -> None:
        # By what has passed, not by an instant: after the clock was set back by an hour that would be an hour away.
        self._minute_began = self._clock.now()
        self._minute.arm_in(_MINUTE)

    def arm(self, due: datetime | None, *, after_tick: bool = False) -> None:
        """Arm for the next due instant of the present state."""
        now = self._clock.now()
        if due is not None and after_tick and due <= now:
            due = now + _PATIENCE
        self.armed_for = due
        self._due.arm(due)

    def _ring(self) -> None:
        if self._ticking is None or self._ticking.done():
            self._ticking = asyncio.ensure_future(self._tick())

    async def _tick(self) -> None:
        await self._submit(Tick(command_id=new_command_id("tick")))  # arms anew when it is done

    def _ring_minute(self) -> None:
        try:
            if self._clock.now() - self._minute_began < _SET_BACK:
                self._ring()
            self._on_minute()
        finally:
            self._begin_minute()

    def close(self) -> None:
        """Disarm for good."""
        self._due.close()
        self._minute.close()
        if self._ticking is not None:
            self._ticking.cancel()
