"""Ingredients that are bought: taken by some step, from a supplier that is there, in units that can be compared."""

from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of


def check_buying(draft: Draft) -> None:
    """Names, suppliers and units of suppliers.yaml."""
    taken = {take.ingredient: take for r in draft.recipes for step in r.steps.values() for take in step.takes}
    names = {name for name in taken if name is not None}
    names |= {leave.ingredient for r in draft.recipes for step in r.steps.values() for leave in step.leaves}
    whole = bool(draft.recipes) and all(recipe.recipe is not None for recipe in draft.recipes)
    suppliers = {entry.value.id for entry in draft.suppliers if entry.value is not None}
    seen: set[str] = set()
    for entry in draft.bought:
        bought = entry.value
        if bought is None:
            continue
        if bought.ingredient in seen:
            entry.add(("ingredient",), f"{bought.ingredient!r} is there twice", "keep one entry for each ingredient")
        seen.add(bought.ingredient)
        if whole and bought.ingredient not in names:
            what = f"no step takes {bought.ingredient!r}"
            entry.add(("ingredient",), what, one_of(names, bought.ingredient))
        if bought.supplier is not None and bought.supplier not in suppliers:
            what = f"there is no supplier {bought.supplier!r}"
            entry.add(("supplier",), what, one_of(suppliers, bought.supplier))
        take = taken.get(bought.ingredient)
        for key, amount in (("pack", bought.pack), ("on_hand", bought.on_hand)):
            if take is not None and amount is not None and amount.unit is not take.amount.unit:
                what = f"{key} of {bought.ingredient!r} is in {amount.unit}, its recipes take {take.amount.unit}"
                entry.add((key,), what, f"write it in {take.amount.unit}, or it cannot be counted")
