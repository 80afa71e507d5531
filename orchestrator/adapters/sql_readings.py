"""Readings in a database, keyed by probe and instant."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from sqlalchemy import BigInteger, Column, Connection, Double, MetaData, Row, String, Table, func, select
from sqlalchemy.dialects import postgresql, sqlite

from orchestrator.adapters.database import Database, from_micros, to_micros
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Reading

_METADATA = MetaData()
_READINGS = Table(
    "reading",
    _METADATA,
    Column("probe", String, primary_key=True),
    Column("measured_at_us", BigInteger, primary_key=True, autoincrement=False),
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("recorded_at_us", BigInteger, nullable=False),
    Column("celsius", Double, nullable=False),
    Column("battery_percent", Double),
    sqlite_with_rowid=False,
)
_NO_SEQ: Final = -1
"""Stored for a reading that brought its own time but no seq: it is told from others by its time alone."""
_FIRST_STAMPED: Final = -2
"""Readings stamped on receipt get -2, -3 ... so that none of them is ever taken for a repeat."""


class SqlReadings:
    """Implements `ports.event_log.ReadingsStore`."""

    def __init__(self, where: Path | str, *, busy_s: float = 2.0) -> None:
        """Open or create the store.

        Args:
            where: A file, whose folder must exist, or a PostgreSQL URL.
            busy_s: How long to wait for another program that holds a lock.

        Raises:
            LogUnavailable: it cannot be opened.
        """
        self._database = Database(where, "readings", busy_s=busy_s)
        # The two dialects write "or leave it as it is" alike, but SQLAlchemy has it only in each of them.
        dialect = sqlite if self._database.is_sqlite else postgresql
        self._insert = dialect.insert(_READINGS).on_conflict_do_nothing()

    def add(self, readings: Sequence[Reading]) -> Sequence[Reading]:
        """Keep them; durable on return.

        Returns:
            Those that were new, in the order given. A reading stamped on receipt (no seq, measured when
            recorded) is always new.

        Raises:
            LogUnavailable: none was kept.
        """
        new: list[Reading] = []
        with self._database.writing() as connection:
            for reading in readings:
                row = _row(reading, _key_seq(connection, reading))
                if connection.execute(self._insert, row).rowcount:
                    new.append(reading)
        return new

    def between(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """In order of measured_at, both ends included.

        Raises:
            LogUnavailable: the store cannot be read.
        """
        at = _READINGS.c.measured_at_us
        query = (
            select(_READINGS)
            .where(_READINGS.c.probe == probe, at >= to_micros(since), at <= to_micros(until))
            .order_by(at, func.abs(_READINGS.c.seq))
        )
        with self._database.reading() as connection:
            return [_reading(row) for row in connection.execute(query)]

    def latest(self) -> dict[ProbeId, Reading]:
        """The newest reading of every probe.

        Raises:
            LogUnavailable: the store cannot be read.
        """
        newest: dict[ProbeId, Reading] = {}
        with self._database.reading() as connection:
            # Hopping from probe to probe along the key: SELECT DISTINCT would walk over every reading.
            probe = _next_probe(connection, "")
            while probe is not None:
                newest[ProbeId(probe)] = _reading(_newest(connection, probe))
                probe = _next_probe(connection, probe)
        return newest

    def close(self) -> None:
        """Release the file or the connections."""
        self._database.close()


def _key_seq(connection: Connection, reading: Reading) -> int:
    if reading.seq is not None:
        return reading.seq
    if reading.measured_at != reading.recorded_at:
        return _NO_SEQ
    at = to_micros(reading.measured_at)
    least = connection.execute(
        select(func.min(_READINGS.c.seq)).where(_READINGS.c.probe == reading.probe, _READINGS.c.measured_at_us == at)
    ).scalar()
    return min(_FIRST_STAMPED, (0 if least is None else least) - 1)


def _row(reading: Reading, seq: int) -> dict[str, Any]:
    return {
        "probe": reading.probe,
        "measured_at_us": to_micros(reading.measured_at),
        "seq": seq,
        "recorded_at_us": to_micros(reading.recorded_at),
        "celsius": reading.celsius,
        "battery_percent": reading.battery_percent,
    }


def _reading(row: Row[Any]) -> Reading:
    return Reading(
        probe=ProbeId(row.probe),
        celsius=row.celsius,
        measured_at=from_micros(row.measured_at_us),
        recorded_at=from_micros(row.recorded_at_us),
        seq=row.seq if row.seq >= 0 else None,
        battery_percent=row.battery_percent,
    )


def _next_probe(connection: Connection, after: str) -> str | None:
    found: str | None = connection.execute(
        select(func.min(_READINGS.c.probe)).where(_READINGS.c.probe > after)
    ).scalar()
    return found


def _newest(connection: Connection, probe: str) -> Row[Any]:
    at = _READINGS.c.measured_at_us
    query = select(_READINGS).where(_READINGS.c.probe == probe).order_by(at.desc(), func.abs(_READINGS.c.seq).desc())
    return connection.execute(query.limit(1)).one()
