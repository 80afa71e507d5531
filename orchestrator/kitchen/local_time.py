"""Times as a kitchen's files write them: on the kitchen's own clock, without an offset."""

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import Annotated, Any, Final
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema

ZONE: Final = "zone"
"""Key of the validation context that holds the kitchen's `ZoneInfo`."""

DAY_PATTERN: Final = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
CLOCK_PATTERN: Final = r"^[0-9]{2}:[0-9]{2}$"
BREAK_PATTERN: Final = r"^[0-9]{2}:[0-9]{2}-[0-9]{2}:[0-9]{2}$"
INSTANT_PATTERN: Final = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}$"
_INSTANT = re.compile(INSTANT_PATTERN)
_OFFSET = re.compile(r"(Z|[+-]\d{2}:?\d{2})$")


def to_utc(local: datetime, zone: ZoneInfo) -> datetime:
    """A time on the kitchen's clock as an instant.

    Args:
        local: Without a zone.
        zone: The kitchen's.

    Returns:
        Aware, UTC.

    Raises:
        ValueError: The clocks jump over that time, or show it twice.
    """
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    shown = f"{local:%Y-%m-%d %H:%M}"
    if first.astimezone(zone).replace(tzinfo=None) != local:
        raise ValueError(f"{shown} does not exist in {zone.key}, the clocks go forward over it: choose another time")
    if first != second:
        raise ValueError(f"{shown} comes twice in {zone.key}, the clocks go back then: choose a time outside that hour")
    return first


def parse_day(text: str) -> date:
    """A calendar day. Raises: ValueError."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text!r} is not a day of the calendar: write it like 2026-11-25") from None


def parse_clock(text: str) -> time:
    """A time of day. Raises: ValueError."""
    try:
        return time.fromisoformat(text)
    except ValueError:
        raise ValueError(f'{text!r} is not a time of day: write it in quotes, like "06:30"') from None


def span_utc(day: date, start: time, end: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """From one time of day to another; an end that is not later lies on the next day. Raises: ValueError."""
    last = day if end > start else day + timedelta(days=1)
    return to_utc(datetime.combine(day, start), zone), to_utc(datetime.combine(last, end), zone)


def _parse_instant(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, datetime) and value.tzinfo is not None:
        return value
    if not isinstance(value, str) or not _INSTANT.fullmatch(value):
        if isinstance(value, str) and _OFFSET.search(value) and _INSTANT.match(value[:16]):
            raise ValueError(f"{value!r} carries an offset: write the kitchen's local time, like {value[:16]}")
        raise ValueError(f"{value!r} is not a local date and time: write it like 2026-11-28T11:00")
    try:
        local = datetime.fromisoformat(value)
    except ValueError:
        raise ValueError(f"{value!r} is not a day and time of the calendar: write it like 2026-11-28T11:00") from None
    return to_utc(local, (info.context or {}).get(ZONE) or ZoneInfo("UTC"))


_INSTANT_SCHEMA = {"type": "string", "pattern": INSTANT_PATTERN, "examples": ["2026-11-28T11:00"]}

LocalInstant = Annotated[datetime, BeforeValidator(_parse_instant), WithJsonSchema(_INSTANT_SCHEMA, mode="validation")]
"""Written as local date and time without an offset; kept as aware UTC."""
