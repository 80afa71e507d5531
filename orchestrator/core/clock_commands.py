"""What the service itself says of the clock."""

from typing import Literal

from orchestrator.core.command_base import BaseCommand


class RecordClock(BaseCommand):
    """The computer's clock was set; see `clock_events.ClockSet`."""

    kind: Literal["record_clock"] = "record_clock"
    seconds: float
    while_away: bool = False
