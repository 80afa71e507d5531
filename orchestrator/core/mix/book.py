"""Ingredients by every name that recipes may call them, as rows of arithmetic, beside the recipes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from orchestrator.core.ids import RecipeId
from orchestrator.core.measures import NoDensity, converted
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.ingredient import Ingredient, as_compared
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.thermal.mix import Parts, row


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """What compositions are looked up in."""

    ingredients: Mapping[str, Ingredient]
    """By every name, as compared."""
    rows: Mapping[str, Parts]
    """What a gram as weighed leaves in the mix, by the ingredient's id."""
    recipes: Mapping[RecipeId, Recipe]

    def ingredient(self, name: str) -> Ingredient | None:
        """The row of that name, if the table has one."""
        return self.ingredients.get(name) or self.ingredients.get(as_compared(name))


def book(ingredients: Iterable[Ingredient], recipes: Iterable[Recipe]) -> Book:
    """A book of these; of two rows of one name the later one counts."""
    listed = tuple(ingredients)
    names = {name: one for one in listed for name in one.names}
    rows = {
        one.id: row(one.per_100g.model_dump(), usable=one.usable, bulky=one.bulky_flavour) for one in names.values()
    }
    return Book(names, rows, {recipe.id: recipe for recipe in recipes})


def book_of(kitchen: Kitchen) -> Book:
    """The book of a kitchen."""
    return book(kitchen.ingredients, kitchen.recipes)


def grams_of(amount: Quantity, ingredient: Ingredient | None) -> float | None:
    """What an amount of an ingredient weighs, trim included; nothing where no density or weight of a piece says so."""
    if amount.unit is Unit.EACH:
        each = ingredient.each_g if ingredient is not None else None
        return None if each is None else amount.value * each
    if amount.unit is Unit.TRAY:
        return None
    density = ingredient.density_g_per_ml if ingredient is not None else None
    try:
        return converted(amount.value, str(amount.unit), "g", density)
    except NoDensity:
        return None
