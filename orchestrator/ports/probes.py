"""Readings as they come in from thermometers, and the broker they come through."""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from orchestrator.ports.event_log import Reading

OnReadings = Callable[[list[Reading]], Awaitable[None]]
"""Called with decoded readings; when it returns they are stored, and only then acknowledged."""


class ProbeFeed(Protocol):
    """A source of readings."""

    connected: bool
    heard_at: datetime | None
    """When readings last came, by the computer's clock."""

    async def run(self, on_readings: OnReadings) -> None:
        """Receive until cancelled; reconnects by itself."""


class Broker(Protocol):
    """An MQTT broker that we start ourselves."""

    def start(self) -> None:
        """Start and wait until it accepts connections. Raises: OSError when the port is taken."""

    def alive(self) -> bool:
        """Whether it still runs."""

    def stop(self) -> None:
        """Stop it."""

    def url(self) -> str:
        """``mqtt://127.0.0.1:1883``."""


@dataclass(slots=True)
class RejectedCounts:
    """How many readings were turned away, by reason and by probe, with the last one of each reason."""

    by_reason: dict[str, int] = field(default_factory=dict)
    by_probe: dict[str, int] = field(default_factory=dict)
    last: dict[str, str] = field(default_factory=dict)
