"""What has happened to by-products: left by a step, and weighed. What is thrown away is decided as of any lot."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, SupplyLotId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Quantity


class ByProductLeft(Model):
    """A step has ended and left something for other recipes: a lot of its own."""

    kind: Literal["by_product_left"] = "by_product_left"
    lot: SupplyLotId
    ingredient: str
    """As the steps that want it call it."""
    of: str | None = None
    """The ingredient that it is a part of; none: of all that had gone into the batch."""
    task: TaskId
    made_from: LotCode
    at: AwareDatetime
    person: CrewId | None
    expected: Quantity
    """By the recipe."""
    weighed: Quantity | None = None
    use_by: AwareDatetime | None = None
    """The soonest of its own life and of what it comes from."""
    place: EquipmentId | None = None
    room: float = 0.0
    """How much of the place's capacity it takes, in its unit."""
    allergens: tuple[str, ...] = ()
    """With those that it inherits."""


class ByProductWeighed(Model):
    """How much was left in fact; before it, what was expected counted."""

    kind: Literal["by_product_weighed"] = "by_product_weighed"
    lot: SupplyLotId
    at: AwareDatetime
    person: CrewId
    weighed: Quantity
