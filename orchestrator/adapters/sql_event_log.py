"""The event log in a SQLite file: append-only, one JSON document an event, durable before acknowledged."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Column, Index, Integer, MetaData, Row, String, Table, insert, select

from orchestrator.adapters.sqlite import Database, from_micros, to_micros
from orchestrator.core.events import EVENTS, Recorded
from orchestrator.core.ids import CommandId
from orchestrator.ports.event_log import LogUnavailable

SCHEMA_VERSION = 1
"""Raised with every change of the table; older files are brought up on opening."""

_METADATA = MetaData()
_EVENTS = Table(
    "event",
    _METADATA,
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("recorded_at_us", Integer, nullable=False),
    Column("command_id", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("body", String, nullable=False),
    Index("event_by_kind", "kind"),
)
_PAGE = 500


class SqlEventLog:
    """Implements `ports.event_log.EventLog`."""

    def __init__(self, path: Path, *, busy_s: float = 2.0) -> None:
        """Open or create the log.

        Args:
            path: The file; its folder must exist.
            busy_s: How long to wait for another program that holds the file.

        Raises:
            LogUnavailable: it cannot be opened.
        """
        self._path = path
        self._database = Database(path, _METADATA, SCHEMA_VERSION, busy_s=busy_s)

    def append(self, records: Sequence[Recorded]) -> None:
        """Write all of them or none; on disk when this returns. No records: try whether it could be written.

        Raises:
            LogUnavailable: nothing was written.
        """
        rows = [
            {
                "seq": record.seq,
                "recorded_at_us": to_micros(record.at),
                "command_id": record.command_id,
                "kind": record.event.kind,
                "body": record.event.model_dump_json(),
            }
            for record in records
        ]
        with self._database.writing() as connection:
            if rows:
                connection.execute(insert(_EVENTS), rows)

    def read(self, after: int = 0) -> Iterator[Recorded]:
        """All records with a greater seq, in order.

        Raises:
            LogUnavailable: it cannot be read, or a record in it is damaged.
        """
        while page := self._page(after):
            for row in page:
                yield self._recorded(row)
            after = page[-1].seq

    def _page(self, after: int) -> Sequence[Row[Any]]:
        query = select(_EVENTS).where(_EVENTS.c.seq > after).order_by(_EVENTS.c.seq).limit(_PAGE)
        with self._database.reading() as connection:
            return connection.execute(query).all()

    def _recorded(self, row: Row[Any]) -> Recorded:
        try:
            event = EVENTS.validate_json(row.body)
        except ValidationError as error:
            raise LogUnavailable(
                f"record {row.seq} ({row.kind}) of {self._path} cannot be understood: it is damaged or from another "
                f"version; restore the last backup of the data folder ({error.errors()[0]['msg']})"
            ) from error
        return Recorded(
            seq=row.seq, at=from_micros(row.recorded_at_us), command_id=CommandId(row.command_id), event=event
        )

    def close(self) -> None:
        """Release the file."""
        self._database.close()
