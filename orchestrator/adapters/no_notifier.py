"""In PRACTICE nothing is sent to anybody."""

from collections.abc import Iterable, Sequence

from orchestrator.core.models.calls import CallChannel, CallFault, ChannelFault
from orchestrator.ports.calling import Message, OnFailed, Sent


class NothingIsSent:
    """Implements `ports.calling.Notifier`; every channel says why it was not used."""

    async def send(self, message: Message, channels: Sequence[CallChannel], on_failed: OnFailed) -> Sent:
        """Nothing."""
        return Sent((), tuple(ChannelFault(channel=one.name, fault=CallFault.PRACTICE) for one in channels))

    def unset(self, secrets: Iterable[str]) -> frozenset[str]:
        """None: no address is looked for."""
        return frozenset()
