"""Allergens of a recipe: its own, its ingredients' and its components'."""

from collections.abc import Mapping

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Recipe


def allergens_of(
    recipes: Mapping[RecipeId, Recipe], recipe: Recipe, above: frozenset[RecipeId] = frozenset()
) -> set[str]:
    """All allergens in what a recipe makes.

    Args:
        recipes: Every recipe of the kitchen, by id.
        recipe: The recipe asked about.
        above: Recipes that are being looked into already; a circle ends there.

    Returns:
        Names as the recipes write them.
    """
    found = set(recipe.allergens)
    for step in recipe.steps:
        for take in step.takes:
            found |= set(take.allergens)
            part = recipes.get(take.component) if take.component is not None else None
            if part is not None and part.id not in above:
                found |= allergens_of(recipes, part, above | {recipe.id})
    return found
