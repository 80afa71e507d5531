"""What both SQLite files have in common: how they are opened, versioned, and what their failures mean."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, MetaData, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from orchestrator.ports.event_log import LogUnavailable

_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND: Final = timedelta(microseconds=1)
_READ_ONLY: Final = "coldwright_read"

_REMEDIES: Final = (
    ("SQLITE_BUSY", "is locked by another program", "close the other program that has it open"),
    ("SQLITE_LOCKED", "is locked by another program", "close the other program that has it open"),
    ("SQLITE_FULL", "cannot grow: the disk is full", "free some space on the disk"),
    ("SQLITE_READONLY", "cannot be written", "give the service the right to write the file and its folder"),
    ("SQLITE_CORRUPT", "is damaged", "restore the last backup of the data folder; keep the damaged file"),
    ("SQLITE_NOTADB", "is not one of ours, or is damaged", "restore the last backup of the data folder"),
    ("SQLITE_CANTOPEN", "cannot be opened", "check that its folder exists and may be written"),
    ("SQLITE_IOERR", "cannot be read or written", "check the disk and its connection"),
    ("SQLITE_CONSTRAINT", "has been written by another program meanwhile", "let one program only use a data folder"),
)


def to_micros(instant: datetime) -> int:
    """Microseconds since 1970, exactly. Floats would lose the last digits."""
    return (instant - _EPOCH) // _MICROSECOND


def from_micros(micros: int) -> datetime:
    """The inverse of `to_micros`."""
    return _EPOCH + micros * _MICROSECOND


class Database:
    """One SQLite file: WAL, ``synchronous=FULL``, writers begin with ``BEGIN IMMEDIATE``."""

    def __init__(self, path: Path, metadata: MetaData, version: int, *, busy_s: float = 2.0) -> None:
        """Open the file, making its tables if it is new.

        Raises:
            LogUnavailable: it cannot be opened, is damaged, or was written by a newer version.
        """
        self.path = path
        if not path.parent.is_dir():
            raise LogUnavailable(f"{path} cannot be opened: the folder {path.parent} is missing; create it")
        self._engine = _engine(path, busy_s)
        try:
            with self.writing() as connection:
                self._bring_up(connection, metadata, version)
        except LogUnavailable:
            self._engine.dispose()
            raise

    def _bring_up(self, connection: Connection, metadata: MetaData, version: int) -> None:
        found = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
        if found > version:
            raise LogUnavailable(
                f"{self.path} was written by a newer version (schema {found}, this one knows {version}); "
                "use that version, or another data folder"
            )
        if found == 0:
            metadata.create_all(connection)
            connection.exec_driver_sql(f"PRAGMA user_version = {version}")

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is on disk when the block ends, or has not happened.

        Raises:
            LogUnavailable: what went wrong and the remedy.
        """
        with self._translated(), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one consistent state and hinders no writer.

        Raises:
            LogUnavailable: what went wrong and the remedy.
        """
        with self._translated(), self._engine.connect() as connection:
            yield connection.execution_options(**{_READ_ONLY: True})

    @contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except DBAPIError as error:
            raise LogUnavailable(explain(self.path, error.orig)) from error
        except SQLAlchemyError as error:
            raise LogUnavailable(f"{self.path} cannot be used: {error}") from error
        except sqlite3.Error as error:
            raise LogUnavailable(explain(self.path, error)) from error

    def close(self) -> None:
        """Release the file."""
        self._engine.dispose()


def explain(path: Path, error: BaseException | None) -> str:
    """What happened to the file, in words, and what to do about it."""
    name = getattr(error, "sqlite_errorname", "") or ""
    for prefix, what, remedy in _REMEDIES:
        if name.startswith(prefix):
            return f"{path} {what}; {remedy}"
    return f"{path} cannot be used ({error}); check the disk and the rights to the data folder"


def _engine(path: Path, busy_s: float) -> Engine:
    engine = create_engine(
        f"sqlite:///{path}", poolclass=QueuePool, connect_args={"timeout": busy_s, "check_same_thread": False}
    )

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # we write BEGIN ourselves
        cursor = connection.cursor()
        cursor.execute("PRAGMA journal_mode = WAL")
        cursor.execute("PRAGMA synchronous = FULL")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        reading = connection.get_execution_options().get(_READ_ONLY, False)
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return engine
