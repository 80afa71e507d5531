"""Instants as minutes of one scale, in which the folds of `thermal` count."""

from datetime import UTC, datetime, timedelta
from typing import Final

_EPOCH: Final = datetime(2020, 1, 1, tzinfo=UTC)


def minute_of(instant: datetime) -> float:
    """Minutes since the scale's zero."""
    return (instant - _EPOCH).total_seconds() / 60.0


def instant_of(minute: float | None) -> datetime | None:
    """The instant of a minute; none of none."""
    return None if minute is None else _EPOCH + timedelta(minutes=minute)
