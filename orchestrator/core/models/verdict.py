"""What a curve said of a limit, as put on record: with the text that applied, so that it can be read years later."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.limit import LimitId


class ByHand(Model):
    """That a reading was taken by hand. The thermometer counts as a food thermometer: see ``tolerance_degrees``."""

    at: AwareDatetime
    by: CrewId | None = None


class LegReached(Model):
    """A leg of cooling that was reached, in time or not."""

    degrees: float
    """In the unit of the verdict."""
    at: AwareDatetime
    """At the latest."""
    by: AwareDatetime
    """When it had to be."""


class LimitVerdict(Model):
    """One limit, judged on one probe's curve. It is no legal clearance: local code decides."""

    limit: LimitId
    title: str
    applied: str
    """The text that applied: source and edition, or the kitchen's local code."""
    row: str = ""
    status: Literal["met", "not yet", "will not be met in time", "broken", "not judged"]
    unit: Literal["C", "F"] = "C"
    """Whose column was judged, and in which all degrees here are told."""
    of: Literal["food", "air"] = "food"
    """Air never shows the food: a verdict on air is the air's."""
    since: AwareDatetime | None = None
    at: AwareDatetime | None = None
    """When it was met, or broken."""
    margin_degrees: float | None = None
    margin_min: float | None = None
    readings: tuple[tuple[AwareDatetime, float], ...] = ()
    """Those that decided."""
    by_hand: tuple[ByHand, ...] = ()
    """Which of them a person took, and who."""
    gap: tuple[AwareDatetime, AwareDatetime] | None = None
    why: str = ""
    tolerance_degrees: float
    within_tolerance: bool = False
    """A thermometer off by its tolerance could have turned it."""
    legs: tuple[LegReached, ...] = ()
    """Of cooling: those reached by then, from warm to cold."""


class Kept(Model):
    """A verdict on a task that has no target to reach: a stay, or the draw out of the churn."""

    task: TaskId
    verdict: LimitVerdict
