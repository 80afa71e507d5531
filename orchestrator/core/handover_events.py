"""Shifts handed over and taken over. Appended, never changed, as all of `events`."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId
from orchestrator.core.models.base import Model
from orchestrator.core.models.handover import HandoverNote


class ShiftHandedOver(Model):
    """A named person hands over, with the note as it was then and words of their own."""

    kind: Literal["shift_handed_over"] = "shift_handed_over"
    at: AwareDatetime
    person: CrewId
    text: str = ""
    note: HandoverNote


class ShiftTakenOver(Model):
    """Somebody else has read it, and goes on from there."""

    kind: Literal["shift_taken_over"] = "shift_taken_over"
    handover: int
    """Number of the event that handed over."""
    at: AwareDatetime
    person: CrewId


HandoverEvent = ShiftHandedOver | ShiftTakenOver
