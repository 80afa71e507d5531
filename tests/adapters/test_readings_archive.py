"""Packed readings are what they were, and what is let go leaves true figures of its hours."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select, update

from orchestrator.adapters.readings_pack import Stored, pack, unpack
from orchestrator.adapters.readings_tables import DAYS, HOURS, READINGS
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Keeping, LogUnavailable, Reading

AT = datetime(2026, 11, 25, 0, 0, tzinfo=UTC)
PROBE = ProbeId("freezer-air")
KEEPING = Keeping(loose=timedelta(days=30), exact=timedelta(days=60))

instants = st.integers(-(2**50), 2**52)
readings = st.builds(
    Stored,
    instants,
    st.integers(-(2**31), 2**53),
    instants,
    st.floats(allow_nan=False),
    st.none() | st.floats(0, 100),
)


@given(st.lists(readings, max_size=50))
def test_pack_unpack_is_exact(some: list[Stored]) -> None:
    assert unpack(pack(some)) == some


def test_pack_is_small() -> None:
    # What probes send: hundredths of a degree every 5 s. Without packing the row alone is at least 40 bytes.
    day = [Stored(5_000_000 * n, n, 5_000_000 * n + 300_000, -18 + (n % 37) / 100, None) for n in range(17_280)]
    assert len(pack(day)) < 5 * len(day)


@pytest.mark.parametrize(
    "damaged", [b"", b"\x01", pack([Stored(1, 1, 1, 1.0, None)])[:-3], b"\x01\x01\x00\x00\x00rest"]
)
def test_unpack_damaged_says_so(damaged: bytes) -> None:
    with pytest.raises(ValueError, match="damaged"):
        unpack(damaged)


def test_unpack_of_a_later_version_says_so() -> None:
    with pytest.raises(ValueError, match="version 9, this one knows 1"):
        unpack(b"\x09" + pack([])[1:])


def reading(minute: float, celsius: float) -> Reading:
    at = AT + timedelta(minutes=minute)
    return Reading(PROBE, celsius, at, at + timedelta(seconds=1), seq=round(minute * 60))


def rows(store: SqlReadings) -> tuple[int, int, int]:
    with store._database.reading() as connection:
        return tuple(len(connection.execute(select(table)).all()) for table in (READINGS, DAYS, HOURS))  # type: ignore[return-value]


def test_readings_grow_old_in_three_steps(tmp_path: Path) -> None:
    store = SqlReadings(tmp_path / "readings.db")
    values = [-20 + (n % 11) / 10 for n in range(180)]
    store.add([reading(n, value) for n, value in enumerate(values)])
    assert (store.tidy(AT + timedelta(days=20), KEEPING), rows(store)) == (0, (180, 0, 0))
    assert (store.tidy(AT + timedelta(days=32), KEEPING), rows(store)) == (1, (0, 1, 0))
    assert (store.tidy(AT + timedelta(days=62), KEEPING), rows(store)) == (1, (0, 0, 3))
    with store._database.reading() as connection:
        hour = connection.execute(select(HOURS).order_by(HOURS.c.hour_us)).first()
    assert hour is not None
    first = values[:60]
    assert (hour.readings, hour.least_celsius, hour.most_celsius) == (60, min(first), max(first))
    assert hour.mean_celsius == pytest.approx(fmean(first))
    store.close()


def test_late_reading_of_an_hour_let_go_counts_in_its_figures(tmp_path: Path) -> None:
    store = SqlReadings(tmp_path / "readings.db")
    store.add([reading(0, -20.0), reading(1, -18.0)])
    store.tidy(AT + timedelta(days=62), KEEPING)
    store.add([reading(2, -10.0)])
    store.tidy(AT + timedelta(days=62), KEEPING)
    with store._database.reading() as connection:
        (hour,) = connection.execute(select(HOURS)).all()
    assert (hour.readings, hour.least_celsius, hour.mean_celsius, hour.most_celsius) == (3, -20.0, -16.0, -10.0)
    store.close()


def test_packed_day_damaged_is_named(tmp_path: Path) -> None:
    store = SqlReadings(tmp_path / "readings.db")
    store.add([reading(0, -20.0)])
    store.tidy(AT + timedelta(days=32), KEEPING)
    with store._database.writing() as connection:
        connection.execute(update(DAYS).values(packed=b"nothing"))
    with pytest.raises(
        LogUnavailable, match=r"packed readings of freezer-air cannot be read .*restore the last backup"
    ):
        store.between(PROBE, AT, AT + timedelta(days=1))
    store.close()
