"""What a counter is to have, and what was counted there."""

from pydantic import Field

from orchestrator.core.ids import RecipeId, StationId
from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Quantity


class ParLevel(Model):
    """So much of a product is to be at a counter in the morning."""

    station: StationId
    product: RecipeId
    quantity: Quantity
    by: str = Field(default="10:00", pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")
    """When it must be there, on the kitchen's clock."""


class Counted(Model):
    """So much of a product was found at a counter."""

    product: RecipeId
    quantity: Quantity
    sure: bool = False
    """It was asked about, and stands."""
