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
    """All allergens of a lot on hand: its recipe's, and what this lot has besides (reworked food, a substitute)."""
    recipe = recipes.get(lot.recipe)
    return set(lot.allergens) | (set() if recipe is None else allergens_of(recipes, recipe))


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
    extra = {lot: frozenset(one.allergens) for lot, one in stock.items()}
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
