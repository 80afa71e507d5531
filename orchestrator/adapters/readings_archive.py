"""Packs old readings by the day, unpacks them for whoever asks, and lets go of what was kept long enough."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, Insert, delete, func, insert, select, update

from orchestrator.adapters.readings_pack import Stored, pack, unpack
from orchestrator.adapters.readings_tables import DAY_US, DAYS, HOUR_US, HOURS, READINGS
from orchestrator.ports.event_log import LogUnavailable


def order(reading: Stored) -> tuple[int, int]:
    """In which order readings of a probe are told: by their time; of one time, as they came."""
    return reading.measured_at_us, abs(reading.seq)


def packed_between(connection: Connection, probe: str, since_us: int, until_us: int) -> list[Stored]:
    """What is packed and was measured then, both ends included. Raises: LogUnavailable when it is damaged."""
    first_day = since_us // DAY_US * DAY_US
    days = select(DAYS).where(DAYS.c.probe == probe, DAYS.c.day_us >= first_day, DAYS.c.day_us <= until_us)
    return [
        reading
        for day in connection.execute(days.order_by(DAYS.c.day_us))
        for reading in _unpacked(day)
        if since_us <= reading.measured_at_us <= until_us
    ]


def newest_packed(connection: Connection) -> Iterator[tuple[str, Stored]]:
    """The newest packed reading of every probe."""
    newest = select(DAYS.c.probe, func.max(DAYS.c.day_us).label("day_us")).group_by(DAYS.c.probe).subquery()
    days = select(DAYS).join(newest, (DAYS.c.probe == newest.c.probe) & (DAYS.c.day_us == newest.c.day_us))
    for day in connection.execute(days):
        yield day.probe, _unpacked(day)[-1]


def next_to_pack(connection: Connection, before_us: int) -> tuple[str, int] | None:
    """A probe and a whole day that ended by then and still has loose readings."""
    whole_days_us = before_us // DAY_US * DAY_US
    for probe in probes(connection):
        oldest = select(func.min(READINGS.c.measured_at_us)).where(READINGS.c.probe == probe)
        if (at_us := connection.execute(oldest).scalar_one()) < whole_days_us:
            return probe, at_us // DAY_US * DAY_US
    return None


def probes(connection: Connection) -> Iterator[str]:
    """Probes with loose readings, hopping along the key: SELECT DISTINCT would walk over every reading."""
    probe = ""
    following = select(func.min(READINGS.c.probe))
    while (found := connection.execute(following.where(READINGS.c.probe > probe)).scalar()) is not None:
        probe = found
        yield probe


def packed_until_us(connection: Connection) -> int:
    """The end of the last packed day of any probe; 0 when nothing is packed."""
    last: int | None = connection.execute(select(func.max(DAYS.c.day_us))).scalar()
    return 0 if last is None else last + DAY_US


def pack_day(connection: Connection, probe: str, day_us: int) -> None:
    """Pack a day, together with what was packed of it already."""
    here = (
        READINGS.c.probe == probe,
        READINGS.c.measured_at_us >= day_us,
        READINGS.c.measured_at_us < day_us + DAY_US,
    )
    loose = [stored(row) for row in connection.execute(select(READINGS).where(*here))]
    readings = sorted([*packed_between(connection, probe, day_us, day_us + DAY_US - 1), *loose], key=order)
    connection.execute(delete(DAYS).where(DAYS.c.probe == probe, DAYS.c.day_us == day_us))
    row = {"probe": probe, "day_us": day_us, "readings": len(readings), "packed": pack(readings)}
    connection.execute(insert(DAYS), row)
    connection.execute(delete(READINGS).where(*here))


def next_to_let_go(connection: Connection, before_us: int) -> tuple[str, int] | None:
    """A probe and a packed day that ended by then."""
    days = select(DAYS.c.probe, DAYS.c.day_us).where(DAYS.c.day_us + DAY_US <= before_us)
    row = connection.execute(days.order_by(DAYS.c.day_us).limit(1)).first()
    return None if row is None else (row.probe, row.day_us)


def let_go(connection: Connection, probe: str, day_us: int) -> None:
    """Keep least, mean and most of each hour of a day, and no single reading any more."""
    readings = packed_between(connection, probe, day_us, day_us + DAY_US - 1)
    for hour_us, of_hour in groupby(readings, key=lambda reading: reading.measured_at_us // HOUR_US * HOUR_US):
        _keep_hour(connection, probe, hour_us, [reading.celsius for reading in of_hour])
    connection.execute(delete(DAYS).where(DAYS.c.probe == probe, DAYS.c.day_us == day_us))


def _keep_hour(connection: Connection, probe: str, hour_us: int, values: list[float]) -> None:
    """Also where the hour has figures already, of readings that came before and are gone."""
    here = (HOURS.c.probe == probe, HOURS.c.hour_us == hour_us)
    known = connection.execute(select(HOURS).where(*here)).first()
    count, total, least, most = len(values), sum(values), min(values), max(values)
    if known is not None:
        count, total = count + known.readings, total + known.readings * known.mean_celsius
        least, most = min(least, known.least_celsius), max(most, known.most_celsius)
    figures = {"readings": count, "least_celsius": least, "mean_celsius": total / count, "most_celsius": most}
    change: Insert | Any = insert(HOURS) if known is None else update(HOURS).where(*here)
    connection.execute(change, {**figures, **({"probe": probe, "hour_us": hour_us} if known is None else {})})


def stored(row: Any) -> Stored:
    """A row of loose readings."""
    return Stored(row.measured_at_us, row.seq, row.recorded_at_us, row.celsius, row.battery_percent)


def _unpacked(day: Any) -> list[Stored]:
    try:
        return unpack(day.packed)
    except ValueError as error:
        raise LogUnavailable(
            f"packed readings of {day.probe} cannot be read ({error}); restore the last backup of the data folder"
        ) from error
