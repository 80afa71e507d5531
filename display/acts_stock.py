"""Forms about stock become commands: receiving, which lot was used, counts, recall drills."""

from collections.abc import Callable
from typing import Any, Final

from display.forms import Tapped
from orchestrator.core.by_product_commands import WeighByProduct
from orchestrator.core.ids import DrillId, SupplyLotId, TaskId
from orchestrator.core.quantities import Quantity, Unit
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

MOST: Final = 100_000


def _amount(form: Tapped, field: str) -> Quantity | None:
    """An amount in the unit that the form names; none where nothing was typed."""
    if not form.text(field):
        return None
    unit = Unit(form.choice("unit", [unit.value for unit in Unit]))
    return Quantity(value=form.amount(field, unit, most=MOST, food=form.text("ingredient")), unit=unit)


def _receive(form: Tapped) -> StockCommand:
    told: dict[str, Any] = {
        **form.base(),
        "ingredient": form.need("ingredient"),
        "outcome": form.choice("outcome", ["accepted", "short", "refused", "not come"]),
        "quantity": _amount(form, "quantity"),
        "expected": _amount(form, "expected"),
        "also_here": _amount(form, "also_here"),
        "keep": form.choice("keep", ["cold", "frozen", "dry"]) if form.text("keep") else "dry",
        "celsius": form.celsius("temperature") if form.text("temperature") else None,
        "supplier": form.text("supplier")[:100],
        "supplier_lot": form.text("supplier_lot")[:100],
        "use_by": form.instant("use_by"),
        "place": form.text("place") or None,
        "reason": form.text("reason"),
        "rest_at": form.instant("rest_at"),
        "sure": form.yes("sure"),
        "sure_of_amount": form.yes("sure_of_amount"),
    }
    return ReceiveDelivery.model_validate(told)


def _use_lot(form: Tapped) -> StockCommand:
    return UseLot(**form.base(), task=TaskId(form.need("task")), lot=SupplyLotId(form.need("lot")))


def _ripe(form: Tapped) -> StockCommand:
    ripe = form.yes_or_no("ripe")
    at = None if ripe else form.instant("ripe_at")
    if not ripe and at is None:
        raise form.fault("missing", "ripe_at")
    return JudgeRipeness(**form.base(), ingredient=form.need("ingredient"), ripe_at=at, reason=form.text("reason"))


def _swap(form: Tapped) -> StockCommand:
    named = tuple(name.strip().lower() for name in form.text("allergens").split(",") if name.strip())
    return ReplaceIngredient(
        **form.base(),
        ingredient=form.need("ingredient"),
        by=form.need("by")[:100],
        allergens=named[:30],
        reason=form.need("reason"),
    )


def _count(form: Tapped) -> StockCommand:
    counted = _amount(form, "counted")
    if counted is None:
        raise form.fault("missing", "counted")
    return CountStock.model_validate(
        {
            **form.base(),
            "lot": form.need("lot"),
            "counted": counted,
            "place": form.text("place") or None,
            "reason": form.text("reason"),
            "sure": form.yes("sure"),
        }
    )


def _rework(form: Tapped) -> StockCommand:
    amount = _amount(form, "quantity")
    if amount is None:
        raise form.fault("missing", "quantity")
    told = {"lot": form.need("lot"), "into": form.need("into"), "quantity": amount, "reason": form.text("reason")}
    return ReworkInto.model_validate({**form.base(), **told})


def _start_drill(form: Tapped) -> StockCommand:
    return StartDrill(**form.base(), lot=form.need("lot")[:40])


def _mark_drill(form: Tapped) -> StockCommand:
    return MarkDrill(
        **form.base(),
        drill=DrillId(form.need("drill")),
        item=form.need("item")[:80],
        found=form.yes_or_no("found"),
        note=form.text("note"),
    )


def _end_drill(form: Tapped) -> StockCommand:
    return EndDrill(**form.base(), drill=DrillId(form.need("drill")), note=form.text("note"))


def left_over(form: Tapped) -> dict[str, Quantity]:
    """By-products that were weighed, each in the unit that the form names; those left blank are as expected."""
    found = {}
    for ingredient in form.named("left:"):
        unit = Unit(form.choice(f"unit:{ingredient}", [unit.value for unit in Unit]))
        value = form.amount(f"left:{ingredient}", unit, most=MOST, food=ingredient)
        found[ingredient] = Quantity(value=value, unit=unit)
    return found


def _weigh_left(form: Tapped) -> StockCommand:
    weighed = _amount(form, "weighed")
    if weighed is None:
        raise form.fault("missing", "weighed")
    return WeighByProduct(**form.base(), lot=SupplyLotId(form.need("lot")[:40]), weighed=weighed)


def _measure(form: Tapped) -> StockCommand:
    lot, sure = SupplyLotId(form.need("lot")[:40]), form.yes("sure")
    return MeasureIngredient(**form.base(), lot=lot, celsius=form.celsius("temperature"), sure=sure)


STOCK_ACTS: Final[dict[str, Callable[[Tapped], StockCommand]]] = {
    "receive": _receive,
    "use_lot": _use_lot,
    "ripe": _ripe,
    "swap": _swap,
    "count": _count,
    "rework": _rework,
    "start_drill": _start_drill,
    "mark_drill": _mark_drill,
    "end_drill": _end_drill,
    "weigh_left": _weigh_left,
    "measure_ingredient": _measure,
}
