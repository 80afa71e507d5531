"""The ingredient table of a kitchen: what is shipped, with its own rows in their place and its prices on them."""

from orchestrator.core.models.ingredient import Ingredient, as_compared
from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.shipped import shipped_ingredients


def known_ingredients(draft: Draft) -> tuple[Ingredient, ...]:
    """Every row that this kitchen has; a row of its own takes the place of the shipped one of its id or name."""
    own = {entry.value.id: entry.value for entry in draft.ingredients if entry.value is not None}
    taken = {name for row in own.values() for name in row.names}
    shipped = (row for row in shipped_ingredients() if row.id not in own and as_compared(row.name) not in taken)
    costs = {as_compared(entry.value.ingredient): entry.value.per_kg for entry in draft.prices if entry.value}
    return tuple(_priced(_apart(row, taken), costs) for row in shipped) + tuple(
        _priced(row, costs) for row in own.values()
    )


def _apart(row: Ingredient, taken: set[str]) -> Ingredient:
    """A shipped row without the other names that a row of the kitchen's own bears now."""
    also = tuple(name for name in row.also if as_compared(name) not in taken)
    return row if also == row.also else row.model_copy(update={"also": also})


def _priced(row: Ingredient, costs: dict[str, float]) -> Ingredient:
    cost = next((costs[name] for name in row.names if name in costs), None)
    return row if cost is None else row.model_copy(update={"cost_per_kg": cost})
