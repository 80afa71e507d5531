"""Stock on hand as tasks: it waits in its place for its consumers, since planning start."""

from collections.abc import Iterator
from datetime import timedelta

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import (
    Duration,
    Kitchen,
    Process,
    Recipe,
    Stay,
    StockLot,
    TaskKind,
    TaskSpec,
    WindowClass,
)
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.planner.lots import Ledger, last_use
from orchestrator.planner.sizes import EPS, scaled_load, terminal_stay

REST = "rest"
"""Consumer's place in the id of the stay of what nobody takes."""


def window_min(stay: Stay, kitchen: Kitchen) -> Duration:
    """Shortest and longest minutes of a stay; without a most, the horizon."""
    longest = stay.most if stay.most is not None else max(kitchen.horizon_days * 1440, stay.least)
    return Duration(shortest=stay.least, usual=stay.least, longest=max(longest, stay.least))


def stock_specs(ledger: Ledger, stock: StockLot) -> Iterator[TaskSpec]:
    """One stay per consumer of a stock lot, and one for what nobody takes."""
    pegs = [peg for peg in ledger.pegs if peg.lot == stock.lot]
    for peg in pegs:
        yield _stock_stay(ledger, stock, peg.consumer, peg.quantity)
    left = ledger.there(stock.lot, stock.quantity.value) - sum(peg.quantity.value for peg in pegs)
    if left > EPS * 10:
        yield _stock_stay(ledger, stock, REST, Quantity(value=left, unit=stock.quantity.unit))


def _stock_stay(ledger: Ledger, stock: StockLot, consumer: str, quantity: Quantity) -> TaskSpec:
    kitchen = ledger.kitchen
    recipe = next((r for r in kitchen.recipes if r.id == stock.recipe), None)
    place = next((e for e in kitchen.equipment if e.id == stock.place), None)
    stay = Stay() if recipe is None or consumer == REST else _stock_window(kitchen, recipe, stock)
    return TaskSpec(
        id=TaskId(f"{stock.lot}.hold.{consumer}"),
        kind=TaskKind.STAY,
        process=Process.STORE,
        title=f"{recipe.name if recipe else stock.recipe} on hand",
        lot=stock.lot,
        recipe=stock.recipe,
        station=place.station if place else kitchen.stations[0].id,
        equipment_kind=place.kind if place else None,
        load=_stock_load(recipe, place.capacity.unit if place and place.capacity else None, quantity),
        quantity=quantity,
        duration=window_min(stay, kitchen),
        stay=stay,
    )


def _stock_window(kitchen: Kitchen, recipe: Recipe, stock: StockLot) -> Stay:
    """What is left, from planning start on, of the least stay and of the time to use it by."""
    kept = terminal_stay(recipe)
    written = kept.stay if kept is not None and kept.stay is not None else Stay()
    since = (kitchen.planning_start - stock.made) // timedelta(minutes=1)
    left = (last_use(recipe, stock) - kitchen.planning_start) // timedelta(minutes=1)
    window = WindowClass.SAFETY if stock.use_by is not None else written.window
    least = max(0, written.least - since)
    return Stay(least=least, most=max(left, least), window=window)


def _stock_load(recipe: Recipe | None, unit: Unit | None, quantity: Quantity) -> float:
    kept = terminal_stay(recipe) if recipe is not None else None
    if recipe is not None and kept is not None and kept.load is not None and kept.load.unit is unit:
        return scaled_load(kept.load, quantity.value / recipe.yields.value)
    return quantity.value if quantity.unit is unit else 0.0


def place_of(kitchen: Kitchen, spec: TaskSpec) -> EquipmentId | None:
    """Where a stock lot lies; none for anything else."""
    if spec.kind is not TaskKind.STAY or spec.step is not None:
        return None
    return next((stock.place for stock in kitchen.stock if stock.lot == spec.lot), None)
