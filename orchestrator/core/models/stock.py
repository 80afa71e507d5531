"""Ingredients on hand, by the supplier's lot, and recall drills: what is kept of them in the state."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, DrillId, EquipmentId, LotCode, OrderId, SupplyLotId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Quantity


class IngredientLot(Model):
    """So much of an ingredient as it was received."""

    id: SupplyLotId
    ingredient: str
    """As the recipes' steps call it."""
    quantity: Quantity
    received_at: AwareDatetime
    supplier: str = ""
    supplier_lot: str = ""
    """The supplier's own code, as printed on the goods."""
    use_by: AwareDatetime | None = None
    place: EquipmentId | None = None
    made_from: LotCode | None = None
    """Of a by-product: the batch that left it."""
    task: TaskId | None = None
    """Of a by-product: the step that left it."""
    of: str | None = None
    """Of a by-product: the ingredient that it is a part of."""
    weighed: bool = False
    """Of a by-product: whether its amount was weighed, or is what the recipe lets expect."""
    room: float = 0.0
    """Of a by-product: how much of its place's capacity it takes."""
    allergens: tuple[str, ...] = ()
    """Of a by-product: all of them."""


class IngredientUse(Model):
    """So much of one ingredient lot went into what a task makes."""

    lot: SupplyLotId
    ingredient: str
    quantity: Quantity


class DrillItem(Model):
    """Something that a recall would have to find: food in a place, or what a customer was given."""

    id: str
    """``B1`` for what is left of a lot, ``B1/SAT-STALL`` for what went to an order."""
    lot: LotCode
    """The code on it; of an ingredient, the code of its delivery."""
    name: str
    quantity: Quantity | None = None
    share: float = 0.0
    """Which part of the lot drilled on is in it, from 0 to 1."""
    where: str = ""
    order: OrderId | None = None
    customer: str = ""


class DrillFind(Model):
    """Somebody has found, or reached, one of them."""

    item: str
    at: AwareDatetime
    person: CrewId
    found: bool = True
    """False: looked for, and not there."""
    note: str = ""


class Drill(Model):
    """A recall drill on one lot: against the clock, as if it had to be called back."""

    id: DrillId
    lot: str
    name: str
    started_at: AwareDatetime
    person: CrewId
    items: tuple[DrillItem, ...]
    gone: float = 0.0
    """Part of the lot that was thrown away or lost before: accounted for by the books."""
    finds: tuple[DrillFind, ...] = ()
    ended_at: AwareDatetime | None = None
    ended_by: CrewId | None = None
    note: str = ""

    def find(self, item: str) -> DrillFind | None:
        """The last word about an item; none if nobody has looked yet."""
        return next((f for f in reversed(self.finds) if f.item == item), None)

    @property
    def accounted(self) -> float:
        """Part of the lot that is found or known to be gone, from 0 to 1."""
        found = sum(i.share for i in self.items if (f := self.find(i.id)) is not None and f.found)
        return min(1.0, self.gone + found)

    @property
    def standing(self) -> Literal["running", "ended"]:
        """Whether it goes on."""
        return "running" if self.ended_at is None else "ended"
