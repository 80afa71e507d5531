"""Rows of a kitchen's ingredient table bear names of their own, and prices are of ingredients that there are."""

from orchestrator.core.models.ingredient import Ingredient, as_compared
from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of
from orchestrator.kitchen.ingredients import known_ingredients


def check_ingredients(draft: Draft) -> None:
    """No two rows of the file answer to one name, every price is of an ingredient of the table, and lines name the
    allergens that it knows of."""
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
    rows = {name: row for row in known_ingredients(draft) for name in row.names}
    _allergens_of_lines(draft, rows)
    names = {name: row.name for name, row in rows.items()}
    for price in draft.prices:
        if price.value is not None and whole and as_compared(price.value.ingredient) not in names:
            what = f"there is no ingredient {price.value.ingredient!r}"
            price.add(("ingredient",), what, one_of(names.values(), price.value.ingredient))


def _allergens_of_lines(draft: Draft, rows: dict[str, Ingredient]) -> None:
    """A line that leaves out an allergen that the table knows of its ingredient would lose it in silence."""
    for recipe in draft.recipes:
        own = set(recipe.recipe.allergens) if recipe.recipe is not None else set()
        for index, step in recipe.steps.items():
            for number, take in enumerate(step.takes):
                row = rows.get(as_compared(take.ingredient)) if take.ingredient is not None else None
                lacking = [name for name in (row.allergens if row else ()) if name not in {*take.allergens, *own}]
                if lacking:
                    words = ", ".join(lacking)
                    what = f"{take.ingredient!r} holds {words} by the ingredient table, and the line does not say so"
                    remedy = f"add `allergens: [{', '.join((*take.allergens, *lacking))}]`, or a row of your own to it"
                    recipe.add(("steps", index, "takes", number), what, remedy)
