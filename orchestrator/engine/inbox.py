"""The one bounded queue in front of the single writer."""

import asyncio
from dataclasses import dataclass

from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal

Answer = int | Refusal
"""The seq of the command's last event, or why it was not carried out."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """A command and whoever waits for its answer."""

    command: Command
    answer: asyncio.Future[Answer]

    def resolve(self, answer: Answer) -> None:
        """Answer, unless nobody waits any more."""
        if not self.answer.done():
            self.answer.set_result(answer)


class Inbox:
    """Commands in order of arrival. Full, it makes senders wait; it never drops."""

    def __init__(self, size: int = 10_000) -> None:
        self._queue: asyncio.Queue[Waiting] = asyncio.Queue(size)

    async def put(self, command: Command) -> asyncio.Future[Answer]:
        """Queue a command; the future is resolved when it is durable or refused."""
        waiting = Waiting(command, asyncio.get_running_loop().create_future())
        await self._queue.put(waiting)
        return waiting.answer

    async def get(self) -> Waiting:
        """The oldest command, waiting for one if need be."""
        return await self._queue.get()

    def drain(self, most: int = 1_000_000) -> list[Waiting]:
        """Those that wait, oldest first, without waiting for more."""
        return [self._queue.get_nowait() for _ in range(min(most, self._queue.qsize()))]
