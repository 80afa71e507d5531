"""How long steps take in fact: what finished tasks say, and figures that a manager adopted."""

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, EquipmentId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.recipe import Duration


class Sample(Model):
    """How long one finished task took, in the recipe's own terms."""

    task: TaskId
    minutes: float
    """From its start to its end, as if on a machine of speed 1; of short-cycle work: a tray's share."""
    scale: float = 1.0
    """Of its batch: the recipe's amounts are multiplied by this."""
    equipment: EquipmentId | None = None
    at: AwareDatetime
    """When it ended."""


class Learned(Model):
    """What the samples of one step say."""

    samples: int
    low_min: float
    """One in ten is shorter."""
    median_min: float
    high_min: float
    """One in ten is longer."""
    figures: Duration
    """Shortest, usual and longest minutes that follow from it."""
    held_back: bool = False
    """The figures would leave what the recipe allows of a critical step; they stop at its bounds."""


class AdoptedFigures(Model):
    """Figures that a manager put in place of the recipe's."""

    figures: Duration
    written: Duration
    """The recipe's own, to go back to."""
    samples: int
    at: AwareDatetime
    person: CrewId
