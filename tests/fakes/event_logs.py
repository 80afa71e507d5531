"""Log and readings in memory, held to the same contract as the real ones; and a log that fails on demand."""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime

from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Keeping, LogUnavailable, Reading


class MemoryEventLog:
    """Keeps records in a list. `fail` makes appends fail; `before_append` is called in the writer's thread."""

    def __init__(self, records: Sequence[Recorded] = ()) -> None:
        self.records: list[Recorded] = list(records)
        self.commits: list[int] = []
        self.fail: Exception | None = None
        self.before_append: Callable[[Sequence[Recorded]], None] | None = None
        self.closed = False

    def append(self, records: Sequence[Recorded]) -> None:
        if self.before_append is not None:
            self.before_append(records)
        if self.closed:
            raise LogUnavailable("the log is closed; open it again")
        if self.fail is not None:
            raise self.fail
        present = {record.seq for record in self.records}
        wanted = [record.seq for record in records]
        if present & set(wanted) or len(set(wanted)) != len(wanted):
            raise LogUnavailable("a record of that seq is there already; let one program only write")
        self.records.extend(records)
        if records:
            self.commits.append(len(records))

    def rehearse(self) -> None:
        self.append([])

    def read(self, after: int = 0) -> Iterator[Recorded]:
        yield from sorted((r for r in list(self.records) if r.seq > after), key=lambda r: r.seq)

    def close(self) -> None:
        self.closed = True


class MemoryReadings:
    """Keeps readings in a dict."""

    def __init__(self) -> None:
        self._kept: dict[tuple[object, ...], Reading] = {}
        self.fail: Exception | None = None

    def add(self, readings: Sequence[Reading]) -> Sequence[Reading]:
        if self.fail is not None:
            raise self.fail
        new = []
        for reading in readings:
            stamped = reading.seq is None and reading.measured_at == reading.recorded_at
            key: tuple[object, ...] = (reading.probe, reading.measured_at, reading.seq)
            if stamped:
                key = (*key, len(self._kept))
            if key not in self._kept:
                self._kept[key] = reading
                new.append(reading)
        return new

    def between(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        return sorted(
            (r for r in self._kept.values() if r.probe == probe and since <= r.measured_at <= until),
            key=lambda r: (r.measured_at, -1 if r.seq is None else r.seq),
        )

    def latest(self) -> dict[ProbeId, Reading]:
        newest: dict[ProbeId, Reading] = {}
        for reading in self._kept.values():
            known = newest.get(reading.probe)
            if known is None or reading.measured_at >= known.measured_at:
                newest[reading.probe] = reading
        return newest

    def tidy(self, now: datetime, keeping: Keeping) -> int:
        """Lets go of whole days (UTC) at a time, as the real one does."""
        until = (now - keeping.exact).replace(hour=0, minute=0, second=0, microsecond=0)
        old = [key for key, reading in self._kept.items() if reading.measured_at < until]
        for key in old:
            del self._kept[key]
        return len(old)

    def close(self) -> None:
        """Nothing to release."""
