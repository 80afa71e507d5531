"""By-products in the books of material: what of a batch they are, and which part of what went into it."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Final

from orchestrator.core.ids import LotCode
from orchestrator.core.models import Recipe
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.plan_index import plan_index
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import State

_KG: Final = {Unit.KILOGRAM: 1.0, Unit.LITRE: 1.0}
"""A litre counts as a kilogram where parts are compared: rough, and told as such. Pieces and trays have no weight."""


def by_source(state: State) -> dict[LotCode, tuple[IngredientLot, ...]]:
    """What each batch has left."""
    found: dict[LotCode, list[IngredientLot]] = defaultdict(list)
    for lot in state.pantry.by_products():
        if lot.made_from is not None:
            found[lot.made_from].append(lot)
    return {source: tuple(lots) for source, lots in found.items()}


def aside(state: State) -> dict[str, float]:
    """Which part of all that goes into its batch each by-product is, by weight; 0 where no weight tells."""
    return {lot.id: _part(state, source, lot) for source, lots in by_source(state).items() for lot in lots}


def _part(state: State, source: LotCode, lot: IngredientLot) -> float:
    planned = plan_index(state.plan).batches.get(source) if state.plan is not None else None
    batch = planned or state.begun.get(source)
    kitchen = state.kitchen
    recipe = kitchen.made_by(batch.recipe, batch.revision) if kitchen is not None and batch is not None else None
    if batch is None or recipe is None or lot.quantity.unit not in _KG:
        return 0.0
    all_in, out = _kg(recipe), lot.quantity.value * _KG[lot.quantity.unit]
    others = sum(o.quantity.value * _KG.get(o.quantity.unit, 0.0) for o in by_source(state)[source])
    whole = max(all_in * batch.scale, others)
    return out / whole if whole > 0 and all_in > 0 else 0.0


def _kg(recipe: Recipe) -> float:
    return sum(kg_of(take.amount for take in step.takes) for step in recipe.steps if step.per == "batch")


def kg_of(amounts: Iterable[Quantity]) -> float:
    """Kilograms of amounts, as far as they tell: a litre counts as one."""
    return sum(amount.value * _KG.get(amount.unit, 0.0) for amount in amounts)
