"""A notifier that keeps what it was given and ends as a test says."""

import asyncio
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from orchestrator.core.models.calls import CallChannel, CallFault, ChannelFault
from orchestrator.ports.calling import Message, OnFailed, Sent


@dataclass
class KeptNotifier:
    """Implements `ports.calling.Notifier`."""

    reaches: bool = True
    failures: int = 0
    """So many rounds fail before the end."""
    hangs: bool = False
    without: frozenset[str] = frozenset()
    sent: list[tuple[Message, tuple[str, ...]]] = field(default_factory=list)
    cancelled: int = 0

    async def send(self, message: Message, channels: Sequence[CallChannel], on_failed: OnFailed) -> Sent:
        """Kept; ends as told."""
        names = tuple(channel.name for channel in channels)
        self.sent.append((message, names))
        faults = tuple(ChannelFault(channel=name, fault=CallFault.REFUSED, code=503) for name in names)
        for _ in range(self.failures):
            await on_failed(faults)
        if self.hangs:
            try:
                await asyncio.get_running_loop().create_future()
            except asyncio.CancelledError:
                self.cancelled += 1
                raise
        return Sent(names, ()) if self.reaches else Sent((), faults)

    def unset(self, secrets: Iterable[str]) -> frozenset[str]:
        """As told."""
        return frozenset(secrets) & self.without
