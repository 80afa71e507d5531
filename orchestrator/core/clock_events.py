"""The clock by which everything is put on record."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.models import Model


class ClockSet(Model):
    """The computer's clock was set: whoever reads the record later sees why times overlap, or leave a gap."""

    kind: Literal["clock_set"] = "clock_set"
    at: AwareDatetime
    """By the clock as it goes since."""
    seconds: float
    """By how much it was moved; below 0: set back, and times come a second time."""
    while_away: bool = False
    """It was found so at a start: the newest record is later than the clock by so much, and by how much it was set back
    nobody knows."""
