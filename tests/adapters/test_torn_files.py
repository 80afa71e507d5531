"""The real log after a power cut in the middle of a write: cut off anywhere, or with rubbish at its end, what was
synced before is there, whole commits only, and the next writer goes on from it.

Source of the file's form: SQLite, "Database File Format", section 4, "The Write-Ahead Log": a header of 32 bytes, then
frames with checksums; a commit counts only when its last frame is whole.
"""

import random
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.events import MachineReturned, Recorded

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
SIZES = (1, 3, 40, 1, 7, 120, 2)
"""Records in each commit: some fill one page, some many."""


def record(seq: int) -> Recorded:
    event = MachineReturned.model_validate({"equipment": f"churn-{seq}", "at": AT, "person": "manager"})
    told = {"seq": seq, "at": AT + timedelta(seconds=seq), "command_id": f"c{seq}", "event": event}
    return Recorded.model_validate(told)


def written(folder: Path) -> tuple[Path, list[tuple[int, int]]]:
    """A database as a power cut leaves it, and after each commit: bytes of its write-ahead log, records so far."""
    folder.mkdir()
    log = SqlEventLog(folder / "events.db")
    ends, seq = [((folder / "events.db-wal").stat().st_size, 0)], 0
    for size in SIZES:
        log.append([record(number) for number in range(seq + 1, seq + size + 1)])
        seq += size
        ends.append(((folder / "events.db-wal").stat().st_size, seq))
    left = folder.parent / "left"
    left.mkdir()
    for name in ("events.db", "events.db-wal"):
        shutil.copy(folder / name, left / name)
    log.close()
    return left, ends


def reopened(left: Path, place: Path, wal: bytes) -> int:
    """Open what is left, look at all of it, and write on. Returns: how many records there were."""
    place.mkdir()
    shutil.copy(left / "events.db", place / "events.db")
    (place / "events.db-wal").write_bytes(wal)
    log = SqlEventLog(place / "events.db")
    try:
        found = list(log.read())
        assert found == [record(number) for number in range(1, len(found) + 1)]
        assert log.verify()[1] is None
        log.append([record(len(found) + 1)])
        assert log.verify()[0].seq == len(found) + 1
        return len(found)
    finally:
        log.close()


@pytest.mark.parametrize("end", ["cut off", "rubbish", "zeros"])
def test_log_torn_at_any_byte_keeps_whole_commits_and_all_that_were_synced(tmp_path: Path, end: str) -> None:
    left, ends = written(tmp_path / "log")
    wal, chance = (left / "events.db-wal").read_bytes(), random.Random(4711)
    sizes = [size for size, _ in ends]
    assert sizes == sorted(set(sizes)), "each commit must have lengthened the file, or nothing is torn here"
    for trial in range(40):
        cut = chance.choice(sizes) if trial % 4 == 0 else chance.randrange(sizes[0], len(wal) + 1)
        torn = wal[:cut]
        if end != "cut off":
            rest = len(wal) - cut
            torn += chance.randbytes(rest) if end == "rubbish" else bytes(rest)
        kept = reopened(left, tmp_path / str(trial), torn)
        assert kept == max(records for size, records in ends if size <= cut)
