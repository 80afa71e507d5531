"""Where events and readings are kept."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Protocol

from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.core.state import State


class EventLog(Protocol):
    """Append-only and durable."""

    def append(self, records: Sequence[Recorded]) -> None:
        """Write all of them or none; on disk when this returns. Blocks: call it from the writer's thread.

        Raises:
            LogUnavailable: disk full, locked, read-only or damaged; nothing was written.
        """

    def rehearse(self) -> None:
        """Find out whether an act could be written now: as much room is asked for as one needs, or as the commit
        needed that was refused last. No record is left, and the room stays free for the act. Blocks.

        Raises:
            LogUnavailable: an act would not be written; what is in the way, and the remedy.
        """

    def read(self, after: int = 0) -> Iterator[Recorded]:
        """All records with a greater seq, in order."""

    def close(self) -> None:
        """Release the file."""


class Snapshots(Protocol):
    """The state as events made it, kept so that a start need not read them all. Never the record."""

    def load(self) -> State | None:
        """As it was kept last, if it was folded by this very code from this very log. Blocks.

        Raises:
            LogUnavailable: the log cannot be asked.
        """

    def keep(self, state: State) -> None:
        """Keep it, if all its events are on disk; what goes wrong is logged and does no harm. Blocks."""


class LogUnavailable(Exception):
    """The log cannot be written or read; the message names the file and the remedy."""


AHEAD: Final = timedelta(minutes=2)
"""How far ahead of the kitchen's clock a thermometer's may run before its times are in doubt."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value with its two times."""

    probe: ProbeId
    celsius: float
    measured_at: datetime
    """By the thermometer's clock, put on record as it was sent."""
    recorded_at: datetime
    """By the kitchen's clock, as it came."""
    seq: int | None = None
    battery_percent: float | None = None

    @property
    def ahead(self) -> bool:
        """Whether it came before it was measured: one of the two clocks is wrong, and nobody knows which."""
        return self.measured_at - self.recorded_at > AHEAD

    @property
    def judged_at(self) -> datetime:
        """The time it is judged by: its own; of one that is ahead when it came, the latest that it can be from."""
        return self.recorded_at if self.ahead else self.measured_at


@dataclass(frozen=True, slots=True)
class Keeping:
    """How long readings are kept. What they meant is in the event log, and that is kept for good."""

    loose: timedelta = timedelta(days=30)
    """As they came; from then on packed by the day, without loss."""
    exact: timedelta = timedelta(days=2 * 366)
    """Every single reading; from then on least, mean and most of each hour only."""


class ReadingsStore(Protocol):
    """Readings by probe and instant."""

    def add(self, readings: Sequence[Reading]) -> Sequence[Reading]:
        """Keep them; returns those that were new. Same (probe, measured_at, seq) is kept once. Durable on return."""

    def between(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """In order of measured_at, both ends included."""

    def latest(self) -> dict[ProbeId, Reading]:
        """The newest reading of every probe."""

    def tidy(self, now: datetime, keeping: Keeping) -> int:
        """Pack what is old, and let go what has been kept long enough; one probe's day at a time, so that readings
        can come in between. Blocks: call it from a thread.

        Returns:
            How many days of a probe were packed or let go; 0 when there was nothing to do.
        """

    def close(self) -> None:
        """Release the file."""
