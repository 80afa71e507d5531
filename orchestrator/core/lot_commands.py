"""What people may ask about food in doubt, about places that fail, and about the record of a batch."""

from typing import Literal

from pydantic import Field

from orchestrator.core.command_base import BaseCommand
from orchestrator.core.ids import DeviationId, EquipmentId, LotCode
from orchestrator.core.models.deviation import PlaceAnswer, StandardAct


class PowerCut(BaseCommand):
    """Every store stands still at once; or works again."""

    kind: Literal["power_cut"] = "power_cut"
    over: bool = False


class TakeAction(BaseCommand):
    """A named person says what was done about a deviation; a second look at its lots is one of the acts."""

    kind: Literal["take_action"] = "take_action"
    deviation: DeviationId
    act: StandardAct
    text: str = Field(default="", max_length=500)
    lot: LotCode | None = None


class AnswerLot(BaseCommand):
    """What becomes of a lot in a place that failed."""

    kind: Literal["answer_lot"] = "answer_lot"
    lot: LotCode
    equipment: EquipmentId
    """The place that failed."""
    answer: PlaceAnswer
    to: EquipmentId | None = None
    """Where it was moved."""
    reason: str = Field(default="", max_length=500)


class LookThrough(BaseCommand):
    """A named person says that they looked a batch's record through."""

    kind: Literal["look_through"] = "look_through"
    lot: LotCode
    upto: int | None = Field(default=None, ge=0)
    """Number of the last event that was on record when they were shown it; none: as of now."""
    note: str = Field(default="", max_length=500)


class CloseDeviation(BaseCommand):
    """All has been decided and put right."""

    kind: Literal["close_deviation"] = "close_deviation"
    deviation: DeviationId
    note: str = Field(default="", max_length=500)
