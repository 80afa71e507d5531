"""What people ask at the end and at the beginning of a shift."""

from typing import Literal

from pydantic import Field

from orchestrator.core.command_base import BaseCommand


class HandOver(BaseCommand):
    """Put the note on record as it is now, with words of one's own."""

    kind: Literal["hand_over"] = "hand_over"
    text: str = Field(default="", max_length=2000)


class TakeOver(BaseCommand):
    """I have read it and go on."""

    kind: Literal["take_over"] = "take_over"
    handover: int
