"""Where ingredients are bought: suppliers with their cut-offs, packs, and what is on hand."""

from typing import Final, Literal

from pydantic import Field

from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Quantity

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS: Final[tuple[Weekday, ...]] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
CLOCK: Final = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"


class Supplier(Model):
    """Somebody who delivers, and until when an order reaches the next delivery."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    name: str = Field(min_length=1)
    cut_off: str = Field(pattern=CLOCK)
    """Orders are in by then, on the kitchen's clock, written ``"15:00"``."""
    lead_days: int = Field(default=1, ge=0, le=30)
    """So many days before the delivery."""
    delivers: tuple[Weekday, ...] = Field(default=WEEKDAYS, min_length=1)
    arrives: str = Field(default="07:00", pattern=CLOCK)
    """It is there by then."""


class Bought(Model):
    """How one ingredient is bought and kept."""

    ingredient: str = Field(min_length=1)
    """As the recipes' steps call it."""
    supplier: str | None = None
    pack: Quantity | None = None
    """Orders are rounded up to whole packs."""
    on_hand: Quantity | None = None
    """When planning starts."""
    ordered: bool = True
    """False: never ordered, as water from the tap."""
    store: str = ""
    """Where it is kept, in words or as a place of the kitchen, for the pull list."""


class Buying(Model):
    """All that orders are made by."""

    suppliers: tuple[Supplier, ...] = ()
    ingredients: tuple[Bought, ...] = ()

    def bought(self, ingredient: str) -> Bought:
        """How an ingredient is bought; nothing but its name where the kitchen said nothing."""
        known = (one for one in self.ingredients if one.ingredient == ingredient)
        return next(known, Bought(ingredient=ingredient))

    def supplier(self, supplier: str | None) -> Supplier | None:
        """The supplier of that id, if there is one."""
        return next((one for one in self.suppliers if one.id == supplier), None)
