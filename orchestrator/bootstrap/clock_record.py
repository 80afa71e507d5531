"""The computer's clock is set, and the record says so: times before and after it do not follow on each other."""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import Final

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.core.clock_commands import RecordClock
from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.engine.inbox import Answer
from orchestrator.engine.loop import new_command_id
from orchestrator.ports.clock import Clock

LEAST_S: Final = 5.0
"""What moves times on record by less shifts no minute that anybody reads."""


def behind_s(last_at: datetime | None, clock: Clock) -> float:
    """How far the clock stands before the newest record, seconds; 0 where it does not. A demo's clock is its own."""
    if last_at is None or isinstance(clock, ScaledClock):
        return 0.0
    return max(0.0, (last_at - clock.now()).total_seconds())


class ClockRecord:
    """What is still to be put on record of the clock; kept until it is there."""

    def __init__(self, submit: Callable[[Command], Awaitable[Answer]]) -> None:
        """Nothing was set yet. Loop thread only."""
        self._submit = submit
        self._owed: list[RecordClock] = []
        self._settling: asyncio.Task[None] | None = None

    def moved(self, seconds: float, *, while_away: bool = False) -> None:
        """The clock was moved by so much, or was found so at a start."""
        if abs(seconds) >= LEAST_S:
            name = new_command_id("clock")
            self._owed.append(RecordClock(command_id=name, seconds=round(seconds, 1), while_away=while_away))

    def settle(self) -> None:
        """Put it on record, beside whatever else goes on; what cannot be written now is tried with the next call."""
        if self._owed and (self._settling is None or self._settling.done()):
            self._settling = asyncio.ensure_future(self._settle())

    async def _settle(self) -> None:
        while self._owed:
            answer = await self._submit(self._owed[0])
            if isinstance(answer, Refusal) and answer.code is RefusalCode.UNAVAILABLE:
                return
            del self._owed[0]
