"""The kept state on the simulated disk: the real file's form, code and checks; only where it lies is simulated."""

import random
from dataclasses import dataclass
from datetime import datetime

from orchestrator.adapters.chain import START, Stored, link
from orchestrator.adapters.database import to_micros
from orchestrator.adapters.state_snapshot import StateSnapshot
from orchestrator.core.events import Recorded
from orchestrator.core.state import State
from tests.simulation.faulty.disk import Disk, DiskLog


@dataclass(slots=True)
class _File:
    """What `StateSnapshot` needs of a path."""

    disk: Disk

    def __str__(self) -> str:
        return "the simulated state.snapshot"

    def read_bytes(self) -> bytes:
        """Raises: FileNotFoundError."""
        if not self.disk.kept_state:
            raise FileNotFoundError
        return self.disk.kept_state

    def unlink(self, *, missing_ok: bool) -> None:
        self.disk.kept_state = b""


class DiskSnapshots(StateSnapshot):
    """Implements `ports.event_log.Snapshots` on the disk. Now and then the disk has torn it when it is read again."""

    def __init__(self, disk: Disk, log: DiskLog) -> None:
        super().__init__(_File(disk), _Chain(log).at)  # type: ignore[arg-type]  # as much of a path as it needs
        self._disk = disk
        self._chance = random.Random(len(disk.synced))

    def load(self) -> State | None:
        """As it was kept, unless it does not fit."""
        found = super().load()
        self._disk.started_from_kept += found is not None
        return found

    def _replace(self, whole: bytes) -> None:
        self._disk.may_write()
        torn = self._chance.random() < 0.05
        self._disk.kept_state = whole[: self._chance.randrange(len(whole))] if torn else whole


class _Chain:
    """The hash of each record, as the real log stores it."""

    def __init__(self, log: DiskLog) -> None:
        self._log = log
        self._hashes = [START]

    def at(self, seq: int) -> str | None:
        for record in self._log.read(len(self._hashes) - 1):
            self._hashes.append(link(self._hashes[-1], _stored(record)))
        return self._hashes[seq] if seq < len(self._hashes) else None


def _stored(record: Recorded) -> Stored:
    at: datetime = record.at
    return Stored(record.seq, to_micros(at), record.command_id, record.event.kind, record.event.model_dump_json())
