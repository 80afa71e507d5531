"""Acts about stock, each passed to the file that knows it."""

from typing import assert_never

from orchestrator.core.by_product_commands import WeighByProduct
from orchestrator.core.decide import by_products, counting, deliveries, drills, lots_in_places, reworking, using
from orchestrator.core.decide.case import Case, Decision
from orchestrator.core.errors import Refusal
from orchestrator.core.stock_commands import (
    CountStock,
    EndDrill,
    JudgeRipeness,
    MarkDrill,
    MeasureIngredient,
    ReceiveDelivery,
    ReplaceIngredient,
    ReworkInto,
    StartDrill,
    StockCommand,
    UseLot,
)


def on_stock(case: Case, command: StockCommand) -> Decision | Refusal:  # noqa: PLR0911 - a table of acts
    """Carry one out."""
    match command:
        case ReceiveDelivery():
            return deliveries.receive(case, command)
        case UseLot():
            return using.use_lot(case, command)
        case JudgeRipeness():
            return deliveries.ripeness(case, command)
        case ReplaceIngredient():
            return deliveries.swap(case, command)
        case CountStock():
            return counting.count(case, command)
        case ReworkInto():
            return reworking.rework(case, command)
        case StartDrill():
            return drills.start(case, command)
        case MarkDrill():
            return drills.mark(case, command)
        case EndDrill():
            return drills.end(case, command)
        case WeighByProduct():
            return by_products.weigh(case, command)
        case MeasureIngredient():
            return lots_in_places.measure(case, command)
        case _:
            assert_never(command)
