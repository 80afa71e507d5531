"""What several commands share: exit status and instants."""

from datetime import datetime
from zoneinfo import ZoneInfo

import click

REFUSED = 1
BAD_INPUT = 2


def parse_instant(text: str, time_zone: str) -> datetime:
    """An instant with its offset, or local time of the kitchen.

    Raises:
        click.BadParameter: it is neither.
    """
    try:
        instant = datetime.fromisoformat(text)
    except ValueError as error:
        raise click.BadParameter(f"{text!r} is not an instant: write 2026-11-25T06:00 or 2026-11-25T06:00Z") from error
    return instant if instant.tzinfo is not None else instant.replace(tzinfo=ZoneInfo(time_zone))
