"""The planned days go on."""

from typing import Literal

from pydantic import AwareDatetime, Field

from orchestrator.core.ids import CrewId, LotCode, OrderId, TaskId
from orchestrator.core.models import Model
from orchestrator.core.models.kitchen import MOST_DAYS, Shift


class DaysMoved(Model):
    """Planning begins at a later day from now on, and reaches further; what is over leaves the plan for the record."""

    kind: Literal["days_moved"] = "days_moved"
    at: AwareDatetime
    planning_start: AwareDatetime
    horizon_days: int = Field(ge=1, le=MOST_DAYS)
    lots: tuple[LotCode, ...] = ()
    """Of batches and of stock, of which nothing is left."""
    orders: tuple[OrderId, ...] = ()
    """Handed over."""
    shifts: dict[CrewId, tuple[Shift, ...]] = Field(default_factory=dict)
    """Weekly ones of the days that are gained."""
    tasks: tuple[TaskId, ...] = ()
    """Of those lots and orders, and upkeep of machines that later work has overtaken."""
