"""Allergens under one name each: clean-downs compare them word by word."""

import difflib

from orchestrator.kitchen.documents import Path_
from orchestrator.kitchen.folder import Draft, RecipeDraft


def check_allergens(draft: Draft) -> None:
    """Allergens are written in lower case, and no two of them differ by a slip only."""
    first: dict[str, str] = {}
    for recipe in draft.recipes:
        for where, name in _written(recipe):
            if name != name.strip().lower() or not name.strip():
                recipe.add(
                    where, f"the allergen {name!r} is not in lower case", f"write {name.strip().lower() or 'milk'}"
                )
                continue
            near = [other for other in difflib.get_close_matches(name, first, cutoff=0.85) if other != name]
            if name not in first and near:
                what = f"the allergen {name!r} looks like {near[0]!r}, in {first[near[0]]}"
                recipe.add(where, what, "write one allergen in one way: clean-downs compare the words")
            first.setdefault(name, recipe.document.file)


def _written(recipe: RecipeDraft) -> list[tuple[Path_, str]]:
    found: list[tuple[Path_, str]] = [
        (("steps", index, "takes", number, "allergens", position), name)
        for index, step in recipe.steps.items()
        for number, take in enumerate(step.takes)
        for position, name in enumerate(take.allergens)
    ]
    own = recipe.recipe.allergens if recipe.recipe is not None else ()
    return [((("allergens", position)), name) for position, name in enumerate(own)] + found
