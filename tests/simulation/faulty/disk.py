"""The simulated disk behind the ports of log and readings: what is synced stays, what is not may be gone or torn.

A log's commit is written as one frame of bytes with its length and checksum, as SQLite's write-ahead log does it; at
a power cut a frame that was not synced is there whole, in part, or not at all. The real files are torn in
`tests/adapters/test_torn_files.py`.
"""

import json
import random
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Literal

from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Keeping, LogUnavailable, Reading
from tests.simulation.faulty.virtual_loop import MachineGone

Trouble = Literal["", "full", "locked", "read-only"]
Cut = Literal["", "before sync", "after sync"]
_TOLD = {
    "full": "the disk is full; free some space on the disk",
    "locked": "it is locked by another program; close the other program",
    "read-only": "it cannot be written; give the service the right to write the file",
}


@dataclass(slots=True)
class Disk:
    """What outlives the machine's memory."""

    chance: random.Random
    synced: bytearray = field(default_factory=bytearray)
    """Frames that were acknowledged to the program, and what a power cut left behind them."""
    readings: dict[tuple[Any, ...], Reading] = field(default_factory=dict)
    trouble: Trouble = ""
    cut: Cut = ""
    """Where in the next commit of the log the power fails."""
    cut_readings: Cut = ""
    """The same for readings."""
    kept_state: bytes = b""
    """The folded state beside the log."""
    started_from_kept: int = 0
    commits: int = 0
    torn: int = 0
    refused: int = 0

    def may_write(self) -> None:
        """Raises: LogUnavailable while the disk does not take anything."""
        if self.trouble:
            self.refused += 1
            raise LogUnavailable(f"the simulated disk: {_TOLD[self.trouble]}")

    def commit(self, body: bytes) -> None:
        """Write and sync. Raises: MachineGone in the middle of it."""
        frame = len(body).to_bytes(4, "big") + zlib.crc32(body).to_bytes(4, "big") + body
        if self.cut == "before sync":
            part = self.chance.choice([0, self.chance.randrange(len(frame)), len(frame)])
            self.synced += frame[:part]
            self.torn += 0 < part < len(frame)
            raise MachineGone
        self.synced += frame
        self.commits += 1
        if self.cut == "after sync":
            raise MachineGone

    def frames(self) -> list[bytes]:
        """All whole frames; a torn tail is cut off, as recovery does."""
        found, at = [], 0
        while at + 8 <= len(self.synced):
            length = int.from_bytes(self.synced[at : at + 4], "big")
            body = bytes(self.synced[at + 8 : at + 8 + length])
            if len(body) < length or zlib.crc32(body) != int.from_bytes(self.synced[at + 4 : at + 8], "big"):
                break
            found.append(body)
            at += 8 + length
        del self.synced[at:]
        return found


OnCommit = Callable[[Sequence[Recorded]], None]


class DiskLog:
    """Implements `ports.event_log.EventLog` on the disk; opened anew after every power cut."""

    def __init__(self, disk: Disk, on_commit: OnCommit) -> None:
        self._disk = disk
        self._on_commit = on_commit
        self._kept = [Recorded.model_validate(row) for frame in disk.frames() for row in json.loads(frame)]

    def append(self, records: Sequence[Recorded]) -> None:
        """All or none; on disk when it returns."""
        self._disk.may_write()
        rows = [record.model_dump_json() for record in records]
        self._disk.commit(f"[{','.join(rows)}]".encode())
        self._kept.extend(records)
        self._on_commit(records)

    def rehearse(self) -> None:
        """A disk in trouble takes nothing, however small."""
        self._disk.may_write()

    def read(self, after: int = 0) -> Iterator[Recorded]:
        """From the frames, in order."""
        yield from self._kept[after:]

    def close(self) -> None:
        """Nothing to release."""


class DiskReadings:
    """Implements `ports.event_log.ReadingsStore` on the disk."""

    def __init__(self, disk: Disk) -> None:
        self._disk = disk
        self._by_probe: dict[ProbeId, list[Reading]] = {}
        for reading in disk.readings.values():
            self._by_probe.setdefault(reading.probe, []).append(reading)

    def add(self, readings: Sequence[Reading]) -> Sequence[Reading]:
        """New ones are kept; a power cut after the sync leaves them kept and unacknowledged."""
        self._disk.may_write()
        if self._disk.cut_readings == "before sync":
            raise MachineGone
        new = []
        for reading in readings:
            key = (reading.probe, reading.measured_at, reading.seq)
            if key not in self._disk.readings:
                self._disk.readings[key] = reading
                self._by_probe.setdefault(reading.probe, []).append(reading)
                new.append(reading)
        if self._disk.cut_readings == "after sync":
            raise MachineGone
        return new

    def between(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """In order of their instants."""
        found = [r for r in self._by_probe.get(probe, ()) if since <= r.measured_at <= until]
        return sorted(found, key=lambda r: (r.measured_at, r.seq or -1))

    def latest(self) -> dict[ProbeId, Reading]:
        """The newest of each probe."""
        return {probe: max(kept, key=lambda r: r.measured_at) for probe, kept in self._by_probe.items()}

    def tidy(self, now: datetime, keeping: Keeping) -> int:
        """Days are too few here for anything to be packed."""
        assert now - self._oldest(now) < keeping.loose + timedelta(days=1)
        return 0

    def _oldest(self, now: datetime) -> datetime:
        return min((r.measured_at for r in self._disk.readings.values()), default=now)

    def close(self) -> None:
        """Nothing to release."""
