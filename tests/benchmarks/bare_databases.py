"""Bare commits for comparison: the same rows, the same durability, and nothing of ours in between."""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import urlsplit

import pg8000.dbapi

_TABLE = "CREATE TABLE bare (seq BIGINT PRIMARY KEY, recorded_at_us BIGINT, command_id TEXT, kind TEXT, body TEXT)"

Row = tuple[int, int, str, str, str]


class Bare(Protocol):
    """A table of events without anything round it."""

    def commit(self, rows: Sequence[Row]) -> None:
        """On disk when it returns."""


class BareSqlite:
    """Python's own module; WAL and ``synchronous=FULL``, as `adapters.database` opens its file."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def commit(self, rows: Sequence[Row]) -> None:
        """One transaction."""
        self._connection.execute("BEGIN IMMEDIATE")
        self._connection.executemany("INSERT INTO bare VALUES (?, ?, ?, ?, ?)", rows)
        self._connection.execute("COMMIT")


class BarePostgres:
    """The same driver as ours, with ``synchronous_commit`` on."""

    def __init__(self, connection: Any) -> None:
        self._connection = connection

    def commit(self, rows: Sequence[Row]) -> None:
        """One transaction, one statement."""
        cursor = self._connection.cursor()
        places = ", ".join(["(%s, %s, %s, %s, %s)"] * len(rows))
        cursor.execute(f"INSERT INTO bare VALUES {places}", [value for row in rows for value in row])
        self._connection.commit()


@contextmanager
def bare_sqlite(file: Path) -> Iterator[Bare]:
    """In a file of its own, on the same disk."""
    with closing(sqlite3.connect(file, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(_TABLE)
        yield BareSqlite(connection)


@contextmanager
def bare_postgres(url: str) -> Iterator[Bare]:
    """In a schema of its own, at the same server."""
    at = urlsplit(url)
    connected = pg8000.dbapi.connect(
        user=at.username or "", password=at.password, host=at.hostname or "", port=at.port or 5432, database=at.path[1:]
    )
    with closing(connected) as connection:
        cursor = connection.cursor()
        cursor.execute("SET synchronous_commit TO on")
        cursor.execute("CREATE SCHEMA bare")
        cursor.execute("SET search_path TO bare")
        cursor.execute(_TABLE)
        connection.commit()
        yield BarePostgres(connection)
