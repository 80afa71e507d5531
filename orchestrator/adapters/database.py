"""How both databases are opened, a SQLite file each or one PostgreSQL, and brought up to the present tables."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from orchestrator.adapters.database_address import Address
from orchestrator.adapters.database_errors import explain
from orchestrator.adapters.migrations import NewerSchema, Part, bring_up
from orchestrator.ports.event_log import LogUnavailable

_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND: Final = timedelta(microseconds=1)
_CACHE: Final = -2000
"""As SQLite begins. Source: SQLite documentation, "PRAGMA cache_size"."""
_READ_ONLY: Final = "coldwright_read"


def to_micros(instant: datetime) -> int:
    """Microseconds since 1970, exactly. Floats would lose the last digits."""
    return (instant - _EPOCH) // _MICROSECOND


def from_micros(micros: int) -> datetime:
    """The inverse of `to_micros`."""
    return _EPOCH + micros * _MICROSECOND


class Database:
    """One SQLite file (WAL, ``synchronous=FULL``, writers begin with ``BEGIN IMMEDIATE``) or one PostgreSQL schema."""

    def __init__(self, where: Path | str, part: Part, *, busy_s: float = 2.0) -> None:
        """Open it, making or bringing up its tables.

        Args:
            where: A file, or a PostgreSQL URL as `Address.of` reads it.
            part: Which tables.
            busy_s: How long to wait for another program that holds a lock.

        Raises:
            LogUnavailable: it cannot be opened, is damaged, or was written by a newer version.
        """
        address = Address.of(where)
        self.name = address.name
        if address.file is not None and not address.file.parent.is_dir():
            folder = address.file.parent
            raise LogUnavailable(f"{address.file} cannot be opened: the folder {folder} is missing; create it")
        self._engine = _sqlite(address.file, busy_s) if address.file else _postgresql(address, busy_s)
        try:
            with self.writing() as connection:
                if address.file is None:
                    connection.exec_driver_sql(f'CREATE SCHEMA IF NOT EXISTS "{address.schema}"')
                bring_up(connection, part)
        except NewerSchema as newer:
            self._engine.dispose()
            raise LogUnavailable(
                f"{self.name} was written by a newer version (schema {newer.found}, this one knows {newer.known}); "
                "use that version, or another data folder"
            ) from newer
        except LogUnavailable:
            self._engine.dispose()
            raise

    @property
    def is_sqlite(self) -> bool:
        """Whether it is a file."""
        return self._engine.dialect.name == "sqlite"

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is on disk when the block ends, or has not happened.

        Raises:
            LogUnavailable: what went wrong and the remedy.
        """
        with self._translated(), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def rehearsing(self) -> Iterator[Connection]:
        """A transaction that is taken back when the block ends, though room for what it writes was really taken.

        Raises:
            LogUnavailable: what would have gone wrong, and the remedy.
        """
        with self._translated(), self._engine.connect() as connection:
            if not self.is_sqlite:  # a server makes files longer as they are filled
                yield connection
                return
            # SQLite keeps changed pages in memory until the commit, but for what its cache does not hold. Pages that
            # were written and taken back are written over next: the write-ahead log stays as long as it became.
            connection.exec_driver_sql("PRAGMA cache_size = 1")
            try:
                yield connection
            finally:
                connection.exec_driver_sql(f"PRAGMA cache_size = {_CACHE}")

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one consistent state and hinders no writer.

        Raises:
            LogUnavailable: what went wrong and the remedy.
        """
        seen_at_once = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        with self._translated(), self._engine.connect() as connection:
            yield connection.execution_options(**{_READ_ONLY: True}, **seen_at_once)

    @contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except DBAPIError as error:
            raise LogUnavailable(explain(self.name, error.orig)) from error
        except SQLAlchemyError as error:
            raise LogUnavailable(f"{self.name} cannot be used: {error}") from error
        except sqlite3.Error as error:
            raise LogUnavailable(explain(self.name, error)) from error

    def close(self) -> None:
        """Release the file or the connections."""
        self._engine.dispose()


def _sqlite(file: Path, busy_s: float) -> Engine:
    engine = create_engine(
        URL.create("sqlite", database=str(file)),
        poolclass=QueuePool,
        connect_args={"timeout": busy_s, "check_same_thread": False},
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


def _postgresql(address: Address, busy_s: float) -> Engine:
    # A connection that a restart of the server has cut is noticed and replaced before it is used.
    engine = create_engine(address.url, pool_pre_ping=True, connect_args={"timeout": max(busy_s, 2.0)})

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        # pg8000 waits for the server by the socket's time-out, which must not cut a long read once it is connected.
        connection._usock.settimeout(None)
        cursor = connection.cursor()
        cursor.execute(f'SET search_path TO "{address.schema}"')
        cursor.execute("SET synchronous_commit TO on")
        cursor.execute(f"SET lock_timeout TO {round(busy_s * 1000)}")
        cursor.close()
        connection.commit()

    return engine
