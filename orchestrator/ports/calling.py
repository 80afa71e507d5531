"""How people beyond the kitchen are told: a message, some channels, and what became of it."""

from collections.abc import Awaitable, Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from orchestrator.core.models.calls import CallChannel, ChannelFault


@dataclass(frozen=True, slots=True)
class Message:
    """What somebody is told; it holds no address."""

    title: str
    body: str


@dataclass(frozen=True, slots=True)
class Sent:
    """What became of a message."""

    reached: tuple[str, ...]
    """Channels that took it, by name; empty: nobody was reached, and it is not tried any more."""
    faults: tuple[ChannelFault, ...]
    """Of those that did not."""


OnFailed = Callable[[Sequence[ChannelFault]], Awaitable[None]]
"""Told of each round in which no channel took the message, before the next."""


class Notifier(Protocol):
    """Sends messages; the loop never waits for it."""

    async def send(self, message: Message, channels: Sequence[CallChannel], on_failed: OnFailed) -> Sent:
        """Try all channels, again and again with pauses, until one takes the message or the time for it is over.

        Cancelled, nothing more is tried. Never raises for what the other side does.
        """

    def unset(self, secrets: Iterable[str]) -> frozenset[str]:
        """Those of the names under which there is no address."""
