"""What finished curves have shown of how a step runs in its place; appended, never changed, as all of `events`."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import EquipmentId, RecipeId, StepId, TaskId
from orchestrator.core.models.base import Model


class PaceLearned(Model):
    """A step has reached its target: how fast it warmed on the way, by temperature."""

    kind: Literal["pace_learned"] = "pace_learned"
    task: TaskId
    equipment: EquipmentId
    recipe: RecipeId
    step: StepId
    at: AwareDatetime
    """Of the reading that reached it."""
    target_c: float
    scale: float
    """Of its batch: the recipe's amounts are multiplied by this."""
    bands: tuple[tuple[int, float], ...]
    """Number of a band of 5 °C below the target (-1 ends at it) and degrees a minute in it; see `thermal.estimates`."""


class ReductionLearned(Model):
    """A step that is followed by weight has ended where it was to end: its weights on the way."""

    kind: Literal["reduction_learned"] = "reduction_learned"
    task: TaskId
    equipment: EquipmentId
    recipe: RecipeId
    step: StepId
    at: AwareDatetime
    """When it was ended."""
    scale: float
    """Of its batch: the recipe's amounts are multiplied by this."""
    reduce_to: float
    """Share of the first weight that was wanted."""
    weights: tuple[tuple[float, float], ...]
    """Minutes from the first weight, and the share of it that was left; at most 40."""
