"""Allergens of recipes and lots, inherited through components and stock, and how lists of laws name them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from orchestrator.core.ids import LotCode, RecipeId
from orchestrator.core.models import Batch, Kitchen, Peg, Recipe
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.kitchen import StockLot


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


def stock_allergens(recipes: Mapping[RecipeId, Recipe], lot: StockLot) -> set[str]:
    """All allergens of a lot on hand: its recipe's as it was made, and what this lot has besides (reworked food, a
    substitute)."""
    if lot.of_recipe is not None:
        return set(lot.allergens) | set(lot.of_recipe)
    recipe = recipes.get(lot.recipe)
    return set(lot.allergens) | (set() if recipe is None else allergens_of(recipes, recipe))


def of_ingredient(kitchen: Kitchen, ingredient: str) -> set[str]:
    """What an ingredient brings wherever it is taken, as the recipes name it."""
    takes = (take for recipe in kitchen.recipes for step in recipe.steps for take in step.takes)
    return {allergen for take in takes if take.ingredient == ingredient for allergen in take.allergens}


def beyond_recipe(lot: StockLot) -> frozenset[str]:
    """What a lot on hand may bring that its recipe does not name, or names no more."""
    return frozenset(lot.allergens) | frozenset(lot.of_recipe or ())


def stock_as_made(before: Kitchen, after: Kitchen) -> Kitchen:
    """The kitchen after recipes have become others: what is on hand keeps the allergens with which it was made.

    Args:
        before: With the recipes by which it was made.
        after: The same kitchen with other recipes.
    """
    old, new = ({recipe.id: recipe for recipe in kitchen.recipes} for kitchen in (before, after))
    stock = []
    for lot in after.stock:
        recipe, had = new.get(lot.recipe), old.get(lot.recipe)
        made = allergens_of(old, had) if had is not None else set()
        other = lot.of_recipe is None and recipe is not None and allergens_of(new, recipe) != made
        stock.append(lot.model_copy(update={"of_recipe": tuple(sorted(made))}) if other else lot)
    return after if tuple(stock) == after.stock else after.model_copy(update={"stock": tuple(stock)})


def inherited(
    batches: Iterable[Batch], pegs: Iterable[Peg], stock: Mapping[LotCode, StockLot]
) -> dict[LotCode, frozenset[str]]:
    """What batches get from the very lots that go into them, through any number of batches.

    Args:
        batches: With what their recipes give them.
        pegs: Which lot goes into which batch.
        stock: Lots on hand, with what each has beyond its recipe.

    Returns:
        For each batch all its allergens.
    """
    known = {batch.lot: frozenset(batch.allergens) for batch in batches}
    into = [(peg.lot, peg.batch) for peg in pegs if peg.batch is not None]
    extra = {lot: beyond_recipe(one) for lot, one in stock.items()}
    grown = True
    while grown:  # it only grows, and by no more than there are words
        grown = False
        for lot, batch in into:
            more = known.get(lot, extra.get(lot, frozenset()))
            if batch in known and not more <= known[batch]:
                known[batch] |= more
                grown = True
    return known


@dataclass(frozen=True, slots=True)
class NamedAllergen:
    """An allergen as it is printed."""

    word: str
    """As recipes write it."""
    text: str
    """With the group that a list puts it in: ``hazelnut (tree nut)``, ``wheat (gluten)``, ``milk``."""
    listed: bool
    """Whether a list that the kitchen prints names it, or no list at all does, and the kitchen named it itself.
    False: only a list that it does not print names it."""


def printed_lists(kitchen: Kitchen) -> tuple[AllergenList, ...]:
    """The lists that the kitchen prints, in its order."""
    known = {one.id: one for one in kitchen.allergens}
    return tuple(known[name] for name in kitchen.allergen_lists if name in known)


def named_allergens(kitchen: Kitchen, words: Iterable[str]) -> tuple[NamedAllergen, ...]:
    """Words as they are printed, none left out: those of the kitchen's lists first, each in the list's order.

    Two lists that call a group alike (``nut``, ``tree nut``) name it once, by the longer name.
    """
    lists = printed_lists(kitchen)
    order = [word for one in lists for group in one.groups for word in group.words]
    place = {word: index for index, word in reversed(list(enumerate(order)))}
    known_elsewhere = {word for one in kitchen.allergens for group in one.groups for word in group.words}
    found = []
    for word in sorted(set(words), key=lambda word: (place.get(word, len(order)), word)):
        listed = word in place or word not in known_elsewhere
        found.append(NamedAllergen(word, _text(lists, word), listed))
    return tuple(found)


def _text(lists: tuple[AllergenList, ...], word: str) -> str:
    groups = [group.group for one in lists if (group := one.group_of(word)) is not None]
    others = list(dict.fromkeys(name for name in groups if name != word))
    kept = [name for name in others if not any(name != other and name in other for other in others)]
    return f"{word} ({', '.join(kept)})" if kept else word
