"""What has happened to stock: deliveries, lots of ingredients that were used, counts, drills. Never changed."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.by_product_events import ByProductLeft, ByProductWeighed
from orchestrator.core.ids import CrewId, DrillId, EquipmentId, LotCode, RecipeId, SupplyLotId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.stock import DrillFind, DrillItem, IngredientUse
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.quantities import Quantity
from orchestrator.core.supply_events import DeliveryOverdue


class DeliveryReceived(Model):
    """An ingredient came: it was taken in, taken in though less than expected, or refused at the door. Or it did not
    come."""

    kind: Literal["delivery_received"] = "delivery_received"
    delivery: SupplyLotId
    at: AwareDatetime
    person: CrewId
    ingredient: str
    outcome: Literal["accepted", "short", "refused", "not come"]
    quantity: Quantity | None = None
    """What was taken in; none where it was refused."""
    expected: Quantity | None = None
    celsius: float | None = None
    """Measured in or between the packs."""
    verdict: LimitVerdict | None = None
    """What the limit says of that; no clearance."""
    supplier: str = ""
    supplier_lot: str = ""
    use_by: AwareDatetime | None = None
    place: EquipmentId | None = None
    reason: str = ""
    rest_at: AwareDatetime | None = None
    """When the rest, or another delivery, is expected; none: not known."""
    usable: Quantity | None = None
    """What of the ingredient is here and can be used, where not all came: what goes beyond it waits for the rest."""


class IngredientUsed(Model):
    """Which lots of its ingredients a task has used; said again, the last word holds."""

    kind: Literal["ingredient_used"] = "ingredient_used"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    ingredients: tuple[str, ...]
    """Those about which this is said."""
    uses: tuple[IngredientUse, ...]


class RipenessJudged(Model):
    """Somebody looked whether an ingredient is ripe."""

    kind: Literal["ripeness_judged"] = "ripeness_judged"
    ingredient: str
    at: AwareDatetime
    person: CrewId
    ripe_at: AwareDatetime | None
    """Not before then; none: it is ripe now."""
    reason: str = ""


class IngredientSwapped(Model):
    """Another ingredient, or the same with other allergens, from now on stands in for one."""

    kind: Literal["ingredient_swapped"] = "ingredient_swapped"
    ingredient: str
    by: str
    allergens: tuple[str, ...]
    """All that the label of what comes now names."""
    added: tuple[str, ...] = ()
    """Of them, those that the recipes did not name before."""
    at: AwareDatetime
    person: CrewId
    reason: str
    recipes: tuple[RecipeId, ...] = ()
    """Everything that has it in it, directly or through components."""


class StockCounted(Model):
    """What is there differs from what the books say; from now on the count holds."""

    kind: Literal["stock_counted"] = "stock_counted"
    lot: str
    """Lot code, or the code of a delivery."""
    at: AwareDatetime
    person: CrewId
    place: EquipmentId | None = None
    books: Quantity
    counted: Quantity
    reason: str


class LotReworked(Model):
    """So much of a lot that was to be reworked went into a batch, with all its allergens and its date."""

    kind: Literal["lot_reworked"] = "lot_reworked"
    lot: LotCode
    into: LotCode
    quantity: Quantity
    at: AwareDatetime
    person: CrewId
    allergens: tuple[str, ...] = ()
    """Of the lot."""
    added: tuple[str, ...] = ()
    """Of them, those that the batch did not have."""
    use_by: AwareDatetime | None = None
    """The lot's own: the batch gets no later one."""
    reason: str = ""


class DrillStarted(Model):
    """A recall drill begins: what would have to be found, by the books of that instant."""

    kind: Literal["drill_started"] = "drill_started"
    drill: DrillId
    lot: str
    name: str
    at: AwareDatetime
    person: CrewId
    items: tuple[DrillItem, ...]
    gone: float = 0.0


class DrillMarked(Model):
    """One of the things to be found was found, or was not there."""

    kind: Literal["drill_marked"] = "drill_marked"
    drill: DrillId
    find: DrillFind


class DrillEnded(Model):
    """The drill is over; how long it took and how much was accounted for."""

    kind: Literal["drill_ended"] = "drill_ended"
    drill: DrillId
    at: AwareDatetime
    person: CrewId
    minutes: float
    accounted: float
    """Part of the lot, from 0 to 1."""
    note: str = ""


class IngredientMeasured(Model):
    """A reading by hand in the middle of an ingredient, or of a left-over, on hand."""

    kind: Literal["ingredient_measured"] = "ingredient_measured"
    lot: SupplyLotId
    at: AwareDatetime
    person: CrewId
    celsius: float


StockEvent = (
    DeliveryReceived
    | IngredientUsed
    | RipenessJudged
    | IngredientSwapped
    | StockCounted
    | LotReworked
    | DrillStarted
    | DrillMarked
    | DrillEnded
    | ByProductLeft
    | ByProductWeighed
    | DeliveryOverdue
    | IngredientMeasured
)
