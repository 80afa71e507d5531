"""People beyond the kitchen: who is called, and a phone network that takes messages or does not."""

import asyncio
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from orchestrator.core.models import Kitchen
from orchestrator.core.models.calls import CallChannel, Callee, CallFault, CallPlan, ChannelFault, QuietHours
from orchestrator.ports.calling import Message, OnFailed, Sent

_TRIES: Final = 3
_A_TRY_S: Final = (0.5, 20.0)
LONGEST_CALL_S: Final = _TRIES * _A_TRY_S[1] + 5.0
"""After so long a call was taken or given up, and that is on record."""


def with_calls(kitchen: Kitchen, seed: int) -> Kitchen:
    """The kitchen with a list of people to be called."""
    chance = random.Random(f"calls {seed}")
    phone = (CallChannel(name="Phone", secret="CALL_PHONE"),)
    quiet = (QuietHours(start="22:00", end="06:00"),) if chance.random() < 0.5 else ()
    people = (
        Callee(crew=kitchen.crew[0].id, channels=phone, quiet=quiet),
        Callee(role="Owner", channels=phone),
    )
    plan = CallPlan(people=people[: chance.choice([1, 2, 2])], next_after=chance.choice([5, 10]))
    return kitchen.model_copy(update={"calls": plan})


@dataclass(slots=True)
class Network:
    """Implements `ports.calling.Notifier`; what it took, it took, whatever happens to the machine."""

    chance: random.Random
    took: list[int] = field(default_factory=list)
    """Calls by number, each time that a message of theirs was taken."""

    async def send(self, message: Message, channels: Sequence[CallChannel], on_failed: OnFailed) -> Sent:
        """Some seconds a try; three tries."""
        names = tuple(channel.name for channel in channels)
        faults = tuple(ChannelFault(channel=name, fault=CallFault.REFUSED, code=503) for name in names)
        for _ in range(_TRIES):
            await asyncio.sleep(self.chance.uniform(*_A_TRY_S))
            if self.chance.random() < 0.8:
                self.took.append(int(message.title))
                return Sent(names, ())
            await on_failed(faults)
        return Sent((), faults)

    def unset(self, secrets: Iterable[str]) -> frozenset[str]:
        """All are there."""
        return frozenset()
