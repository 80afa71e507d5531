"""A backup proven good as it lies on its disk: what was written is read again, opened and followed record by record."""

import hashlib
import shutil
import sqlite3
import tempfile
from pathlib import Path

from orchestrator.adapters.backup import LOG, READINGS_FILE, Manifest, Places, counted, read_manifest
from orchestrator.adapters.database_errors import explain
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.ports.event_log import LogUnavailable


def prove(folder: Path) -> Manifest:
    """Open a backup and compare it with what it says of itself; it is not touched.

    Sums show that the disk gave back what was written, SQLite's own check that both files can be read whole, the chain
    that the records are those that were backed up.

    Returns:
        What it says of itself, now known to be true.

    Raises:
        LogUnavailable: what is wrong with it.
    """
    manifest = read_manifest(folder)
    # Opening a file may write beside it: a copy is opened, so that the backup stays what its sums say.
    with tempfile.TemporaryDirectory(prefix=".proof-", dir=folder.parent) as scratch:
        for name, wanted in manifest.sha256.items():
            copy = Path(scratch) / name
            try:
                shutil.copyfile(folder / name, copy)
            except OSError as error:
                raise LogUnavailable(
                    f"{folder / name} cannot be read: {error.strerror}; make another backup"
                ) from error
            with copy.open("rb") as opened:
                if hashlib.file_digest(opened, "sha256").hexdigest() != wanted:
                    raise LogUnavailable(f"{folder / name} is not what was backed up; make another backup")
            _whole(folder / name, copy)
        _as_told(folder, Places(Path(scratch) / LOG, Path(scratch) / READINGS_FILE), manifest)
    return manifest


def _whole(name: Path, file: Path) -> None:
    """Source: SQLite documentation, "PRAGMA integrity_check"."""
    try:
        connection = sqlite3.connect(file)
        try:
            (said,) = connection.execute("PRAGMA integrity_check").fetchone()
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise LogUnavailable(explain(name, error)) from error
    if said != "ok":
        raise LogUnavailable(f"{name} is damaged ({said}); make another backup")


def _as_told(folder: Path, places: Places, manifest: Manifest) -> None:
    log = SqlEventLog(places.event_log, read_only=True)
    try:
        head, broken = log.verify()
    finally:
        log.close()
    if broken is not None or str(head) != manifest.head or counted(places.readings) != manifest.readings:
        raise LogUnavailable(f"{folder} does not hold what its backup.json says; make another backup")
