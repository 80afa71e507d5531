"""What a recipe is made from and where it goes, both ways through components."""

from collections.abc import Mapping
from dataclasses import dataclass

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, Recipe, Step, Take
from orchestrator.core.models.ingredient import Ingredient


@dataclass(frozen=True, slots=True)
class Use:
    """One line of a recipe that takes another one's component."""

    recipe: Recipe
    """That takes it."""
    step: Step
    take: Take
    direct: bool = True
    """False: through a recipe between them; ``take`` then is what the last of them takes."""


def used_in(kitchen: Kitchen, recipe: RecipeId) -> tuple[Use, ...]:
    """Every recipe that takes it, directly first, then through others; each once a line."""
    found = list(_takers(kitchen, recipe, direct=True))
    known, level = {recipe}, [use.recipe.id for use in found]
    while level:
        following = [use for name in level if name not in known for use in _takers(kitchen, name, direct=False)]
        known |= set(level)
        found += [use for use in following if use.recipe.id not in known]
        level = [use.recipe.id for use in following]
    return tuple(found)


def _takers(kitchen: Kitchen, name: RecipeId, *, direct: bool) -> tuple[Use, ...]:
    return tuple(
        Use(recipe, step, take, direct)
        for recipe in kitchen.recipes
        for step in recipe.steps
        for take in step.takes
        if take.component == name
    )


def parts_of(kitchen: Kitchen, recipe: Recipe) -> tuple[Recipe, ...]:
    """Recipes whose components it takes, in the order of its steps, and theirs after them; each once."""
    known = {one.id: one for one in kitchen.recipes}
    found: dict[RecipeId, Recipe] = {}
    level = [recipe]
    while level:
        names = [t.component for one in level for step in one.steps for t in step.takes if t.component is not None]
        level = [known[name] for name in dict.fromkeys(names) if name in known and name not in found]
        found |= {one.id: one for one in level}
    return tuple(found.values())


def ingredient_rows(kitchen: Kitchen) -> Mapping[str, Ingredient]:
    """Rows of the ingredient table by every name they bear, as `as_compared` writes it."""
    return {name: row for row in kitchen.ingredients for name in row.names}
