"""Where events and readings are kept."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId


class EventLog(Protocol):
    """Append-only and durable."""

    def append(self, records: Sequence[Recorded]) -> None:
        """Write all of them or none; on disk when this returns. Blocks: call it from the writer's thread.

        Raises:
            LogUnavailable: disk full, locked, read-only or damaged; nothing was written.
        """

    def read(self, after: int = 0) -> Iterator[Recorded]:
        """All records with a greater seq, in order."""

    def close(self) -> None:
        """Release the file."""


class LogUnavailable(Exception):
    """The log cannot be written or read; the message names the file and the remedy."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value with its two times."""

    probe: ProbeId
    celsius: float
    measured_at: datetime
    recorded_at: datetime
    seq: int | None = None
    battery_percent: float | None = None


class ReadingsStore(Protocol):
    """Readings by probe and instant."""

    def add(self, readings: Sequence[Reading]) -> Sequence[Reading]:
        """Keep them; returns those that were new. Same (probe, measured_at, seq) is kept once. Durable on return."""

    def between(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """In order of measured_at, both ends included."""

    def latest(self) -> dict[ProbeId, Reading]:
        """The newest reading of every probe."""

    def close(self) -> None:
        """Release the file."""
