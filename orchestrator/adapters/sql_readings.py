"""Readings in a database, keyed by probe and instant; old ones packed by the day."""

from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, func, select
from sqlalchemy.dialects import postgresql, sqlite

from orchestrator.adapters import readings_archive as archive
from orchestrator.adapters.database import Database, from_micros, to_micros
from orchestrator.adapters.readings_pack import Stored
from orchestrator.adapters.readings_tables import DAY_US, FIRST_STAMPED, NO_SEQ, READINGS
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Keeping, Reading


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
        dialect: Any = sqlite if self._database.is_sqlite else postgresql
        self._insert = dialect.insert(READINGS).on_conflict_do_nothing()
        with self._database.reading() as connection:
            self._packed_until_us = archive.packed_until_us(connection)

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
                known = connection.execute(self._insert, row).rowcount == 0
                if not known and not self._packed_already(connection, row):
                    new.append(reading)
        return new

    def between(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """In order of measured_at, both ends included.

        Raises:
            LogUnavailable: the store cannot be read.
        """
        since_us, until_us = to_micros(since), to_micros(until)
        at = READINGS.c.measured_at_us
        query = select(READINGS).where(READINGS.c.probe == probe, at >= since_us, at <= until_us)
        with self._database.reading() as connection:
            found = [archive.stored(row) for row in connection.execute(query.order_by(at, func.abs(READINGS.c.seq)))]
            packed = archive.packed_between(connection, probe, since_us, until_us)
        # Late ones of a packed day stand loose beside it until they are packed, too.
        return [_reading(probe, one) for one in (sorted([*packed, *found], key=archive.order) if packed else found)]

    def latest(self) -> dict[ProbeId, Reading]:
        """The newest reading of every probe.

        Raises:
            LogUnavailable: the store cannot be read.
        """
        newest: dict[str, Stored] = {}
        with self._database.reading() as connection:
            for probe in archive.probes(connection):
                newest[probe] = _newest(connection, probe)
            for silent, one in archive.newest_packed(connection):
                newest[silent] = max(newest.get(silent, one), one, key=archive.order)
        return {ProbeId(probe): _reading(ProbeId(probe), one) for probe, one in sorted(newest.items())}

    def tidy(self, now: datetime, keeping: Keeping) -> int:
        """Pack what is old, and let go what has been kept long enough; a transaction for each day of a probe.

        Returns:
            How many days were packed or let go.

        Raises:
            LogUnavailable: it cannot go on; what was done is done, and no reading is lost or doubled.
        """
        loose_us, exact_us = to_micros(now - keeping.loose), to_micros(now - keeping.exact)
        return self._day_by_day(archive.next_to_pack, archive.pack_day, loose_us) + self._day_by_day(
            archive.next_to_let_go, archive.let_go, exact_us
        )

    def _day_by_day(
        self,
        next_one: Callable[[Connection, int], tuple[str, int] | None],
        act: Callable[[Connection, str, int], None],
        before_us: int,
    ) -> int:
        done = 0
        while True:
            with self._database.writing() as connection:
                if (found := next_one(connection, before_us)) is None:
                    return done
                act(connection, *found)
                done += 1
                self._packed_until_us = max(self._packed_until_us, found[1] + DAY_US)

    def _packed_already(self, connection: Connection, row: dict[str, Any]) -> bool:
        """Whether a loose reading repeats a packed one; then it is taken out again. Stamped ones never repeat."""
        at = row["measured_at_us"]
        if at >= self._packed_until_us or row["seq"] <= FIRST_STAMPED:
            return False
        if all(one.seq != row["seq"] for one in archive.packed_between(connection, row["probe"], at, at)):
            return False
        here = (READINGS.c.probe == row["probe"], READINGS.c.measured_at_us == at, READINGS.c.seq == row["seq"])
        connection.execute(delete(READINGS).where(*here))
        return True

    def close(self) -> None:
        """Release the file or the connections."""
        self._database.close()


def _key_seq(connection: Connection, reading: Reading) -> int:
    if reading.seq is not None:
        return reading.seq
    if reading.measured_at != reading.recorded_at:
        return NO_SEQ
    at = to_micros(reading.measured_at)
    least = connection.execute(
        select(func.min(READINGS.c.seq)).where(READINGS.c.probe == reading.probe, READINGS.c.measured_at_us == at)
    ).scalar()
    return min(FIRST_STAMPED, (0 if least is None else least) - 1)


def _row(reading: Reading, seq: int) -> dict[str, Any]:
    return {
        "probe": reading.probe,
        "measured_at_us": to_micros(reading.measured_at),
        "seq": seq,
        "recorded_at_us": to_micros(reading.recorded_at),
        "celsius": reading.celsius,
        "battery_percent": reading.battery_percent,
    }


def _reading(probe: ProbeId, one: Stored) -> Reading:
    return Reading(
        probe=probe,
        celsius=one.celsius,
        measured_at=from_micros(one.measured_at_us),
        recorded_at=from_micros(one.recorded_at_us),
        seq=one.seq if one.seq >= 0 else None,
        battery_percent=one.battery_percent,
    )


def _newest(connection: Connection, probe: str) -> Stored:
    at = READINGS.c.measured_at_us
    query = select(READINGS).where(READINGS.c.probe == probe).order_by(at.desc(), func.abs(READINGS.c.seq).desc())
    return archive.stored(connection.execute(query.limit(1)).one())
