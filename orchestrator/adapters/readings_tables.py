"""The tables of readings: as they came, packed by the day, and hours of what is older still."""

from typing import Final

from sqlalchemy import BigInteger, Column, Double, LargeBinary, MetaData, String, Table

METADATA: Final = MetaData()
READINGS: Final = Table(
    "reading",
    METADATA,
    Column("probe", String, primary_key=True),
    Column("measured_at_us", BigInteger, primary_key=True, autoincrement=False),
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("recorded_at_us", BigInteger, nullable=False),
    Column("celsius", Double, nullable=False),
    Column("battery_percent", Double),
)
DAYS: Final = Table(
    "reading_day",
    METADATA,
    Column("probe", String, primary_key=True),
    Column("day_us", BigInteger, primary_key=True, autoincrement=False),
    Column("readings", BigInteger, nullable=False),
    Column("packed", LargeBinary, nullable=False),
)
HOURS: Final = Table(
    "reading_hour",
    METADATA,
    Column("probe", String, primary_key=True),
    Column("hour_us", BigInteger, primary_key=True, autoincrement=False),
    Column("readings", BigInteger, nullable=False),
    Column("least_celsius", Double, nullable=False),
    Column("mean_celsius", Double, nullable=False),
    Column("most_celsius", Double, nullable=False),
)
NO_SEQ: Final = -1
"""Stored for a reading that brought its own time but no seq: it is told from others by its time alone."""
FIRST_STAMPED: Final = -2
"""Readings stamped on receipt get -2, -3 ... so that none of them is ever taken for a repeat."""
DAY_US: Final = 24 * 60 * 60 * 1_000_000
HOUR_US: Final = 60 * 60 * 1_000_000
