"""What people may ask about stock: receiving, which lot of an ingredient is used, counting, recall drills."""

from typing import Literal

from pydantic import Field

from orchestrator.core.by_product_commands import WeighByProduct
from orchestrator.core.command_base import BaseCommand
from orchestrator.core.ids import DrillId, EquipmentId, LotCode, SupplyLotId, TaskId
from orchestrator.core.models.base import Instant
from orchestrator.core.quantities import Quantity


class ReceiveDelivery(BaseCommand):
    """An ingredient came, or did not."""

    kind: Literal["receive_delivery"] = "receive_delivery"
    ingredient: str = Field(min_length=1, max_length=100)
    outcome: Literal["accepted", "short", "refused", "not come"]
    quantity: Quantity | None = None
    """What is taken in."""
    expected: Quantity | None = None
    keep: Literal["cold", "frozen", "dry"] = "dry"
    """How it must be kept: which limit its temperature is judged by."""
    celsius: float | None = Field(default=None, ge=-60, le=100)
    supplier: str = Field(default="", max_length=100)
    supplier_lot: str = Field(default="", max_length=100)
    use_by: Instant | None = None
    place: EquipmentId | None = None
    reason: str = Field(default="", max_length=500)
    rest_at: Instant | None = None
    """When the rest, or another delivery, is expected."""
    also_here: Quantity | None = None
    """What is still here from before and stands in no books."""
    sure: bool = False
    """Its temperature was asked about, and stands."""
    sure_of_amount: bool = False
    """So was its amount."""


class UseLot(BaseCommand):
    """Another lot of an ingredient went into what a task makes than the books have by themselves."""

    kind: Literal["use_lot"] = "use_lot"
    task: TaskId
    lot: SupplyLotId


class JudgeRipeness(BaseCommand):
    """Somebody looked: it is ripe now, or not before then."""

    kind: Literal["judge_ripeness"] = "judge_ripeness"
    ingredient: str = Field(min_length=1, max_length=100)
    ripe_at: Instant | None = None
    """None: it is ripe now."""
    reason: str = Field(default="", max_length=500)


class ReplaceIngredient(BaseCommand):
    """Another ingredient stands in for one, or the same one's label names other allergens than the recipes do."""

    kind: Literal["replace_ingredient"] = "replace_ingredient"
    ingredient: str = Field(min_length=1, max_length=100)
    by: str = Field(min_length=1, max_length=100)
    allergens: tuple[str, ...] = Field(default=(), max_length=30)
    reason: str = Field(min_length=1, max_length=500)


class CountStock(BaseCommand):
    """What is there of a lot, counted or measured."""

    kind: Literal["count_stock"] = "count_stock"
    lot: str = Field(min_length=1, max_length=40)
    """Lot code, or the code of a delivery."""
    counted: Quantity
    place: EquipmentId | None = None
    reason: str = Field(default="", max_length=500)
    """Why it differs from the books; needed where it does."""
    sure: bool = False
    """It was asked about, being more than there ever was, and stands."""


class ReworkInto(BaseCommand):
    """So much of a lot that was decided to be reworked goes into a batch that is being made."""

    kind: Literal["rework_into"] = "rework_into"
    lot: LotCode
    into: LotCode
    quantity: Quantity
    reason: str = Field(default="", max_length=500)


class StartDrill(BaseCommand):
    """A recall drill begins, against the clock."""

    kind: Literal["start_drill"] = "start_drill"
    lot: str = Field(min_length=1, max_length=40)


class MarkDrill(BaseCommand):
    """One of the things to be found was found, or was not there."""

    kind: Literal["mark_drill"] = "mark_drill"
    drill: DrillId
    item: str = Field(min_length=1, max_length=80)
    found: bool = True
    note: str = Field(default="", max_length=500)


class EndDrill(BaseCommand):
    """The drill is over."""

    kind: Literal["end_drill"] = "end_drill"
    drill: DrillId
    note: str = Field(default="", max_length=500)


class MeasureIngredient(BaseCommand):
    """A reading by hand in the middle of an ingredient, or of a left-over, on hand."""

    kind: Literal["measure_ingredient"] = "measure_ingredient"
    lot: SupplyLotId
    celsius: float = Field(ge=-60, le=150)
    sure: bool = False
    """Somebody says that it is so, although it does not fit."""


StockCommand = (
    ReceiveDelivery
    | UseLot
    | JudgeRipeness
    | ReplaceIngredient
    | CountStock
    | ReworkInto
    | StartDrill
    | MarkDrill
    | EndDrill
    | WeighByProduct
    | MeasureIngredient
)
