"""Copies of log and readings: made while the service runs, proven as they are made, and put back where nothing is."""

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Table, delete, func, insert, select

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.access_tables import METADATA as ACCESS
from orchestrator.adapters.access_tables import PAGE_KEY
from orchestrator.adapters.chain import Head
from orchestrator.adapters.database import Database
from orchestrator.adapters.readings_tables import DAYS, HOURS, READINGS
from orchestrator.adapters.sql_event_log import EVENTS_TABLE, SqlEventLog
from orchestrator.ports.event_log import LogUnavailable

_FORMAT: Final = 1
_MANIFEST: Final = "backup.json"
LOG: Final = "events.db"
READINGS_FILE: Final = "readings.db"
_ACCESS: Final = "access.db"
_PAGE: Final = 2_000
ACCESS_TABLES: Final = tuple(table for table in ACCESS.tables.values() if table is not PAGE_KEY)


@dataclass(frozen=True, slots=True)
class Places:
    """Where log, readings and access are: three files, or three times the same PostgreSQL URL."""

    event_log: Path | str
    readings: Path | str
    access: Path | str | None = None
    """Who may come in; none: it is not looked at."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """What stands beside a backup, in ``backup.json``."""

    format: int
    made_at: str
    """RFC 3339."""
    head: str
    """Of the log's chain, as `Head` writes it."""
    events: int
    readings: int
    """Loose ones and packed ones together."""
    sha256: dict[str, str]
    """Of each file."""


def back_up(source: Places, folder: Path, now: datetime) -> Manifest:
    """Copy both while they may be written; what is acknowledged before it begins is in it.

    Args:
        source: Where they are.
        folder: Made by this; must not be there yet.
        now: Noted in it.

    Raises:
        LogUnavailable: something cannot be read or written, or the log's chain is broken; no folder is left.
    """
    if folder.exists():
        raise LogUnavailable(f"{folder} is there already; name a new folder for each backup")
    half = folder.with_name(folder.name + ".unfinished")
    shutil.rmtree(half, ignore_errors=True)
    try:
        half.mkdir(parents=True)
        # The log first: readings that came after it are only more than it knows of.
        target = Places(half / LOG, half / READINGS_FILE)
        head, events = _copy_log(source.event_log, target.event_log)
        readings = _copy_readings(source.readings, target.readings)
        names = [LOG, READINGS_FILE]
        if source.access is not None and (isinstance(source.access, str) or source.access.is_file()):
            _copy_access(source.access, half / _ACCESS)
            names.append(_ACCESS)
        sums = {name: _sha256(half / name) for name in names}
        manifest = Manifest(_FORMAT, now.isoformat(), str(head), events, readings, sums)
        _write(half / _MANIFEST, json.dumps(asdict(manifest), indent=2))
        half.rename(folder)
    except OSError as error:
        raise LogUnavailable(f"{half} cannot be written: {error.strerror}; name another folder") from error
    finally:
        shutil.rmtree(half, ignore_errors=True)
    return manifest


def restore(folder: Path, target: Places) -> Manifest:
    """Put a backup back, where there is no record yet; the backup itself is not touched.

    Raises:
        LogUnavailable: it is no whole backup, or something is there already.
    """
    manifest = read_manifest(folder)
    for name, wanted in manifest.sha256.items():
        if not (folder / name).is_file() or _sha256(folder / name) != wanted:
            raise LogUnavailable(f"{folder / name} is not what was backed up: take another backup")
    _refuse_if_used(target)
    # Opening brings old tables up: on a copy, so that the backup stays what its sums say.
    with tempfile.TemporaryDirectory(prefix="coldwright-restore-") as copy:
        for name in (one for one in (LOG, READINGS_FILE, _ACCESS) if one in manifest.sha256):
            shutil.copyfile(folder / name, Path(copy) / name)
        head, _ = _copy_log(Path(copy) / LOG, target.event_log)
        readings = _copy_readings(Path(copy) / READINGS_FILE, target.readings)
        if _ACCESS in manifest.sha256 and target.access is not None:
            _copy_access(Path(copy) / _ACCESS, target.access)
    if str(head) != manifest.head or readings != manifest.readings:
        raise LogUnavailable(f"{folder} does not hold what its {_MANIFEST} says: take another backup")
    return manifest


def read_manifest(folder: Path) -> Manifest:
    """What a backup says of itself. Raises: LogUnavailable when it is none."""
    try:
        told: dict[str, Any] = json.loads((folder / _MANIFEST).read_text(encoding="utf-8"))
        manifest = Manifest(**told)
    except (OSError, ValueError, TypeError) as error:
        raise LogUnavailable(f"{folder} is no backup of ours: it has no {_MANIFEST} that can be read") from error
    if manifest.format != _FORMAT:
        raise LogUnavailable(f"{folder} was backed up by a newer version; use that version")
    return manifest


def _refuse_if_used(target: Places) -> None:
    with _open(target.event_log, "log") as log, _open(target.readings, "readings") as readings:
        if _count(log, EVENTS_TABLE) or _count(readings, READINGS) or _count(readings, DAYS):
            raise LogUnavailable(f"{log.name} holds records already; a backup is put back into an empty place only")


def _copy_log(source: Path | str, target: Path | str) -> tuple[Head, int]:
    with ExitStack() as ends:
        one = ends.enter_context(_open(source, "log"))
        other = ends.enter_context(_open(target, "log"))
        count = _copy(one, other, EVENTS_TABLE)
        log = SqlEventLog(target, read_only=True)
        ends.callback(log.close)
        head, broken = log.verify()
    if broken is not None:
        raise LogUnavailable(
            f"{one.name} is not whole: record {broken.seq} is {broken.what.replace('_', ' ')}. "
            "Keep it as it is, and go back to an earlier backup"
        )
    return head, count


def _copy_readings(source: Path | str, target: Path | str) -> int:
    with _open(source, "readings") as one, _open(target, "readings") as other:
        loose = _copy(one, other, READINGS)
        _copy(one, other, HOURS)
        _copy(one, other, DAYS)
        return loose + _packed(other)


def counted(readings: Path | str) -> int:
    """How many readings are kept there, loose ones and packed ones together. Raises: LogUnavailable."""
    with _open(readings, "readings") as database:
        with database.reading() as connection:
            loose: int = connection.execute(select(func.count()).select_from(READINGS)).scalar_one()
        return loose + _packed(database)


def _packed(database: Database) -> int:
    with database.reading() as connection:
        return sum(connection.execute(select(DAYS.c.readings)).scalars())


def _copy_access(source: Path | str, target: Path | str) -> None:
    """Who may come in, hashes and all; whatever stood there before is replaced."""
    SqlAccessStore(target).close()  # made readable by its owner only
    with _open(source, "access") as one, _open(target, "access") as other:
        for table in ACCESS_TABLES:
            with other.writing() as connection:
                connection.execute(delete(table))
            _copy(one, other, table)


def _copy(source: Database, target: Database, table: Table) -> int:
    """All rows of a table, as they stand in one instant of the source."""
    count = 0
    query = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=_PAGE)
    with source.reading() as reading:
        for page in reading.execute(query).partitions():
            with target.writing() as writing:
                writing.execute(insert(table), [dict(row._mapping) for row in page])
            count += len(page)
    return count


def _count(database: Database, table: Table) -> int:
    with database.reading() as connection:
        return len(connection.execute(select(table.primary_key.columns[0]).limit(1)).all())


@contextmanager
def _open(where: Path | str, part: Any) -> Iterator[Database]:
    database = Database(where, part)
    try:
        yield database
    finally:
        database.close()


def _sha256(file: Path) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def _write(file: Path, text: str) -> None:
    """On disk when it returns."""
    with file.open("w", encoding="utf-8") as opened:
        opened.write(text)
        opened.flush()
        os.fsync(opened.fileno())
