"""Rows of a kitchen's ingredient table bear names of their own, and prices are of ingredients that there are."""

from orchestrator.core.models.ingredient import as_compared
from orchestrator.kitchen.faults import one_of
from orchestrator.kitchen.folder import Draft
from orchestrator.kitchen.ingredients import known_ingredients


def check_ingredients(draft: Draft) -> None:
    """No two rows of the file answer to one name; every price is of an ingredient of the table."""
    first: dict[str, str] = {}
    for entry in draft.ingredients:
        if entry.value is None:
            continue
        for name in entry.value.names:
            other = first.setdefault(name, entry.value.id)
            if other != entry.value.id:
                what = f"{name!r} is a name of {other!r} already"
                entry.add(("name",), what, "take it out of one of the two: a recipe's line must mean one row")
        for index, allergen in enumerate(entry.value.allergens):
            if allergen != allergen.strip().lower() or not allergen.strip():
                what = f"the allergen {allergen!r} is not in lower case"
                entry.add(("allergens", index), what, f"write {allergen.strip().lower() or 'milk'}")
    whole = all(entry.value is not None for entry in draft.ingredients)
    names = {name: row.name for row in known_ingredients(draft) for name in row.names}
    for price in draft.prices:
        if price.value is not None and whole and as_compared(price.value.ingredient) not in names:
            what = f"there is no ingredient {price.value.ingredient!r}"
            price.add(("ingredient",), what, one_of(names.values(), price.value.ingredient))
