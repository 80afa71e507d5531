"""The event log in a database: append-only, one JSON document an event, chained, durable before acknowledged."""

import os
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from sqlalchemy import (
    BigInteger,
    Column,
    Connection,
    Index,
    LargeBinary,
    MetaData,
    Row,
    String,
    Table,
    insert,
    select,
    update,
)

from orchestrator.adapters.chain import Break, Head, Link, Stored, link, verify
from orchestrator.adapters.database import Database, from_micros, to_micros
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId
from orchestrator.core.old_events import FORMS, UnknownForm
from orchestrator.ports.event_log import LogUnavailable

_METADATA = MetaData()
EVENTS_TABLE = Table(
    "event",
    _METADATA,
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("recorded_at_us", BigInteger, nullable=False),
    Column("command_id", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("body", String, nullable=False),
    Column("chain", String, nullable=False),
    Index("event_by_kind", "kind"),
)
_WRITER = Table(
    "writer",
    _METADATA,
    Column("one", BigInteger, primary_key=True, autoincrement=False),
    Column("turn", BigInteger, nullable=False),
    Column("holder", String, nullable=False),
    Column("since_us", BigInteger, nullable=False),
)
_REHEARSAL = Table("rehearsal", MetaData(), Column("body", LargeBinary, nullable=False))
"""Filled and taken back; in no database that anybody sees."""
_PAGE = 500
_ROOM_OF_AN_ACT = 64 * 1024
"""Bytes. A tap is some hundred, and touches up to eight pages of 4 KiB; the plan of a small kitchen is 30 KiB."""


class SqlEventLog:
    """Implements `ports.event_log.EventLog`. Whoever opens it for writing last has the pen; all before are refused."""

    def __init__(self, where: Path | str, *, busy_s: float = 2.0, read_only: bool = False, holder: str = "") -> None:
        """Open or create the log.

        Args:
            where: A file, whose folder must exist, or a PostgreSQL URL.
            busy_s: How long to wait for another program that holds a lock.
            read_only: Leave the pen to whoever has it; `append` is then refused.
            holder: Who writes, for people: a machine's name and a process.

        Raises:
            LogUnavailable: it cannot be opened.
        """
        self._database = Database(where, "log", busy_s=busy_s)
        self._turn: int | None = None
        self._head = Head()
        self._refused_bytes = 0
        """How much the last commit was, if it was refused."""
        self.last_at: datetime | None = None
        """When the newest record was made, by its own time."""
        if not read_only:
            try:
                self._take_the_pen(holder)
            except LogUnavailable:
                self._database.close()
                raise

    def _take_the_pen(self, holder: str) -> None:
        with self._database.writing() as connection:
            self._turn = connection.execute(select(_WRITER.c.turn).with_for_update()).scalar_one() + 1
            now = to_micros(datetime.now(UTC))  # for people only: nothing is decided by it
            connection.execute(update(_WRITER).values(turn=self._turn, holder=holder, since_us=now))
            columns = (EVENTS_TABLE.c.seq, EVENTS_TABLE.c.chain, EVENTS_TABLE.c.recorded_at_us)
            last = connection.execute(select(*columns).order_by(EVENTS_TABLE.c.seq.desc()).limit(1))
            if (row := last.first()) is not None:
                self._head, self.last_at = Head(row.seq, row.chain), from_micros(row.recorded_at_us)

    @property
    def head(self) -> Head:
        """How far the log goes, as far as this writer wrote or found it."""
        return self._head

    @property
    def turn(self) -> int:
        """The how manieth this writer is of all that ever had the pen; 0 for one that only reads."""
        return self._turn or 0

    def append(self, records: Sequence[Recorded]) -> None:
        """Write all of them or none; on disk when this returns.

        Raises:
            LogUnavailable: nothing was written; so too when another service has taken over meanwhile.
        """
        head, rows = self._head, []
        for record in records:
            stored = _stored(record)
            head = Head(record.seq, link(head.chain, stored))
            rows.append({**stored._asdict(), "chain": head.chain})
        if not rows:
            return
        self._refused_bytes = sum(len(part) for row in rows for part in row.values() if isinstance(part, str))
        with self._database.writing() as connection:
            self._keep_the_pen(connection)
            connection.execute(insert(EVENTS_TABLE), rows)
        self._refused_bytes = 0
        self._head = head
        self.last_at = records[-1].at

    def rehearse(self) -> None:
        """Find out whether an act could be written now; see the port.

        Raises:
            LogUnavailable: it could not; so too when another service has taken over meanwhile.
        """
        # What cannot be packed takes as much room as it is long, also where a server would pack it.
        body = os.urandom(_ROOM_OF_AN_ACT + self._refused_bytes * 5 // 4)  # a quarter for what indices take
        with self._database.rehearsing() as connection:
            self._keep_the_pen(connection)
            _REHEARSAL.create(connection, checkfirst=False)
            connection.execute(insert(_REHEARSAL), {"body": body})
        # Taken back, it was never synced: so something is, that changes nothing.
        with self._database.writing() as connection:
            self._keep_the_pen(connection)
            connection.execute(update(_WRITER).values(since_us=_WRITER.c.since_us))

    def _keep_the_pen(self, connection: Connection) -> None:
        """The fence: the row is held until the commit, so nobody takes over between this look and the write."""
        found = connection.execute(select(_WRITER.c.turn, _WRITER.c.holder).with_for_update(read=True)).one()
        if found.turn == self._turn:
            return
        whose = "was opened to be read only"
        if self._turn is not None:
            whose = f"is written by another service now {found.holder}".rstrip()
        raise LogUnavailable(
            f"{self._database.name} {whose}; nothing was written here: use the screens of the service that writes"
        )

    def read(self, after: int = 0) -> Iterator[Recorded]:
        """All records with a greater seq, in order.

        Raises:
            LogUnavailable: it cannot be read, or a record in it is damaged.
        """
        return (self._recorded(row) for row in self._rows(after))

    def links(self) -> Iterator[Link]:
        """All records as they are stored, in order. Raises: LogUnavailable."""
        for row in self._rows(0):
            yield Link(Stored(row.seq, row.recorded_at_us, row.command_id, row.kind, row.body), row.chain)

    def chain_at(self, seq: int) -> str | None:
        """The hash that a record is stored with; none if there is no such record. Raises: LogUnavailable."""
        with self._database.reading() as connection:
            return connection.execute(select(EVENTS_TABLE.c.chain).where(EVENTS_TABLE.c.seq == seq)).scalar()

    def verify(self, written: Head | None = None) -> tuple[Head, Break | None]:
        """Follow the chain from the first record; see `chain.verify`. Raises: LogUnavailable."""
        return verify(self.links(), written)

    def _rows(self, after: int) -> Iterator[Row[Any]]:
        while page := self._page(after):
            yield from page
            after = page[-1].seq

    def _page(self, after: int) -> Sequence[Row[Any]]:
        query = select(EVENTS_TABLE).where(EVENTS_TABLE.c.seq > after).order_by(EVENTS_TABLE.c.seq).limit(_PAGE)
        with self._database.reading() as connection:
            return connection.execute(query).all()

    def _recorded(self, row: Row[Any]) -> Recorded:
        try:
            event = FORMS.read(row.kind, row.body)
        except UnknownForm as newer:
            raise LogUnavailable(
                f"record {row.seq} of {self._database.name} was written by a later version ({newer}); use that version"
            ) from newer
        except ValidationError as error:
            raise LogUnavailable(
                f"record {row.seq} ({row.kind}) of {self._database.name} cannot be understood: it is damaged or from "
                f"another version; restore the last backup of the data folder ({error.errors()[0]['msg']})"
            ) from error
        return Recorded(
            seq=row.seq, at=from_micros(row.recorded_at_us), command_id=CommandId(row.command_id), event=event
        )

    def close(self) -> None:
        """Release the file or the connections."""
        self._database.close()


def _stored(record: Recorded) -> Stored:
    body = FORMS.written(record.event)
    return Stored(record.seq, to_micros(record.at), record.command_id, record.event.kind, body)
