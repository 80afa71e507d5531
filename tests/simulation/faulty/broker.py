"""A broker and the network around it: QoS 1, so each message comes at least once, in any order, until acknowledged."""

import random
from collections.abc import Callable, Coroutine, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from orchestrator.adapters.reading_payload import Received, Rejection, decode
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen
from orchestrator.ports.event_log import LogUnavailable, Reading
from orchestrator.simulator.probes import TOPIC, payload_of
from tests.simulation.faulty.world import World

_AGAIN_S: Final = 5.0
_MOST_AT_ONCE: Final = 500
Measured = tuple[ProbeId, float, datetime, int]
Take = Callable[[list[Reading]], Coroutine[Any, Any, None]]


@dataclass(slots=True)
class Broker:
    """Keeps every message until its reading was acknowledged; decodes as the program's own adapter does."""

    world: World
    kitchen: Kitchen
    chance: random.Random
    take: Callable[[], Take | None]
    """How the engine takes readings in; none while it is away."""
    cut_off: bool = False
    """No line between broker and engine."""
    down: bool = False
    """No broker at all: thermometers keep what they measure."""
    published: set[tuple[ProbeId, datetime, int]] = field(default_factory=set)
    rejected: set[tuple[ProbeId, datetime, int]] = field(default_factory=set)
    repeats: int = 0
    _at_probes: list[Measured] = field(default_factory=list)
    _waiting: list[Measured] = field(default_factory=list)

    def publish(self, measured: Sequence[Measured]) -> None:
        """Thermometers hand in what they measured."""
        self.published |= {(probe, at, seq) for probe, _, at, seq in measured}
        self._at_probes += measured
        if self.down or not self._at_probes:
            return
        fresh, self._at_probes = self._at_probes, []
        for one in fresh:
            copies = 2 if self.chance.random() < 0.05 else 1  # a sender that missed its PUBACK sends again
            self.repeats += copies - 1
            self._waiting += [one] * copies
        self.world.after(self.chance.expovariate(5.0), self.deliver)

    @property
    def waiting(self) -> int:
        """Messages that nobody has acknowledged."""
        return len(self._waiting) + len(self._at_probes)

    def deliver(self) -> None:
        """Hand over what waits, in any order; what is not acknowledged comes again."""
        take, loop = self.take(), self.world.loop
        if not self._waiting or self.down:
            return
        if self.cut_off or take is None or loop is None:
            self.world.after(_AGAIN_S, self.deliver)
            return
        if self.chance.random() < 0.1:
            self.chance.shuffle(self._waiting)
        batch = self._waiting[:_MOST_AT_ONCE]
        readings = [reading for one in batch if (reading := self._decoded(one)) is not None]
        answered = self.chance.random() > 0.03  # else the acknowledgement is lost, and all of it comes again

        async def taken() -> None:
            try:
                await take(readings)
            except LogUnavailable:
                self.world.after(_AGAIN_S, self.deliver)
                return
            if not answered:
                self.repeats += len(batch)
            else:
                for one in batch:
                    if one in self._waiting:
                        self._waiting.remove(one)
            if self._waiting:
                self.world.after(1.0, self.deliver)

        loop.create_task(taken())

    def _decoded(self, one: Measured) -> Reading | None:
        probe, celsius, at, seq = one
        now = self.world.clock.now()
        payload = payload_of(celsius, at, seq).encode()
        read = decode(
            TOPIC.format(probe=probe), payload, retained=False, received=Received(now, now, 1.0), kitchen=self.kitchen
        )
        if isinstance(read, Rejection):
            self.rejected.add((probe, at, seq))
            return None
        return read
