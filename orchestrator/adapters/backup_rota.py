"""Backups one after the other in a folder: each proven as it lies there, the oldest let go, the last good one known."""

import json
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from orchestrator.adapters.backup import Places, back_up, read_manifest
from orchestrator.adapters.backup_proof import prove
from orchestrator.ports.event_log import LogUnavailable

_LAST: Final = "last-good.json"
_NAMED: Final = re.compile(r"coldwright-\d{8}T\d{6}Z")
"""Only folders of this name are ever let go: whatever else lies there is somebody's own."""


@dataclass(frozen=True, slots=True)
class LastGood:
    """The newest backup that was proven."""

    folder: Path
    made_at: datetime
    head: str
    """Of the log's chain in it: so far the record is known to be whole."""
    events: int


def take(source: Places, folder: Path, keep: int, now: datetime) -> LastGood:
    """Make the next backup, prove it, and let go what is older than the newest ``keep``.

    Args:
        source: Where log and readings are; they may be written meanwhile.
        folder: In which all backups lie; made if need be.
        keep: How many stay, at least 1.
        now: The wall clock's, UTC; names the backup.

    Raises:
        LogUnavailable: it could not be made, or is not good: then it is not kept, and the older ones are.
    """
    target = folder / f"coldwright-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        back_up(source, target, now)
        try:
            manifest = prove(target)
        except LogUnavailable:
            shutil.rmtree(target, ignore_errors=True)
            raise
        found = LastGood(target, now, manifest.head, manifest.events)
        _note(folder, found)
        for old in sorted(_made(folder))[:-keep]:
            shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        raise LogUnavailable(
            f"{folder} cannot be written: {error.strerror}; name another folder for backups"
        ) from error
    return found


def last_good(folder: Path) -> LastGood | None:
    """The newest proven backup that is still there; none where there is none."""
    try:
        told = json.loads((folder / _LAST).read_text(encoding="utf-8"))
        found = LastGood(folder / told["name"], datetime.fromisoformat(told["made_at"]), told["head"], told["events"])
        read_manifest(found.folder)
    except (OSError, ValueError, KeyError, TypeError, LogUnavailable):
        return None
    return found


def kept(folder: Path) -> int:
    """How many backups of ours lie there."""
    return sum(1 for _ in _made(folder))


def _made(folder: Path) -> Iterator[Path]:
    with suppress(OSError):
        yield from (one for one in folder.iterdir() if _NAMED.fullmatch(one.name) and one.is_dir())


def _sweep(folder: Path) -> None:
    """What an earlier one that was cut short left behind."""
    for one in folder.iterdir():
        if (one.name.endswith(".unfinished") and _NAMED.fullmatch(one.stem)) or one.name.startswith(".proof-"):
            shutil.rmtree(one, ignore_errors=True)


def _note(folder: Path, found: LastGood) -> None:
    """Whole or not at all, and on disk."""
    told = {
        "name": found.folder.name,
        "made_at": found.made_at.isoformat(),
        "head": found.head,
        "events": found.events,
    }
    half = folder / f"{_LAST}.half"
    with half.open("w", encoding="utf-8") as opened:
        json.dump(told, opened)
        opened.flush()
        os.fsync(opened.fileno())
    half.replace(folder / _LAST)
