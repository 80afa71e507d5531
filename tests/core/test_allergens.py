"""Allergens: the two lists, how they name words, and what lots inherit."""

from pathlib import Path

from orchestrator.core.allergens import allergens_of, inherited, named_allergens, stock_allergens
from orchestrator.core.changes_recipes import revise
from orchestrator.core.changes_supplies import swap
from orchestrator.core.ids import LotCode, RecipeId
from orchestrator.core.models import Batch, Kitchen, Peg, PlanRequest
from orchestrator.core.models.change import ReviseRecipe, SwapIngredient
from orchestrator.core.models.kitchen import StockLot
from orchestrator.core.quantities import Quantity
from orchestrator.kitchen.read import read_kitchen
from orchestrator.kitchen.shipped import shipped_allergens
from tests.fakes.kitchens import at, small_kitchen

US = ("milk", "egg", "fish", "crustacean shellfish", "tree nut", "peanut", "wheat", "soy", "sesame")
"""Section 201(qq) of the FD&C Act, with sesame since the FASTER Act of 2021."""
US_NUTS = {
    "almond", "black walnut", "brazil nut", "california walnut", "cashew", "hazelnut", "heartnut", "macadamia", "pecan",
    "pine nut", "pistachio", "walnut",
}  # fmt: skip
"""FDA, Questions and Answers Regarding Food Allergens, Edition 5 (January 2025), table 1: twelve, without coconut."""
EU = (
    "gluten", "crustacean", "egg", "fish", "peanut", "soy", "milk", "nut", "celery", "mustard", "sesame", "sulphites",
    "lupin", "mollusc",
)  # fmt: skip
"""Regulation (EU) No 1169/2011, Annex II, in its order."""
EU_NUTS = {"almond", "hazelnut", "walnut", "cashew", "pecan", "brazil nut", "pistachio", "macadamia"}


def kitchen(*lists: str) -> Kitchen:
    return small_kitchen().model_copy(update={"allergens": shipped_allergens(), "allergen_lists": lists})


def texts(where: Kitchen, *words: str) -> list[str]:
    return [one.text for one in named_allergens(where, words)]


def batch(lot: str, *allergens: str) -> Batch:
    size = Quantity(value=4, unit="L")
    return Batch(lot=LotCode(lot), recipe=RecipeId("r"), revision=1, size=size, scale=1, allergens=allergens)


def peg(lot: str, into: str) -> Peg:
    return Peg(lot=LotCode(lot), batch=LotCode(into), quantity=Quantity(value=1, unit="L"))


def stock(lot: str, recipe: str, *allergens: str) -> StockLot:
    amount = Quantity(value=1, unit="L")
    return StockLot(
        lot=LotCode(lot), recipe=RecipeId(recipe), quantity=amount, made=at("Wed 06:00"), allergens=allergens
    )


def test_lists_are_the_nine_of_the_us_and_the_fourteen_of_the_eu() -> None:
    us, eu = shipped_allergens()
    assert (us.id, eu.id) == ("us", "eu")
    assert tuple(group.group for group in us.groups) == US
    assert tuple(group.group for group in eu.groups) == EU
    assert {word for group in us.groups if group.group == "tree nut" for word in group.words} == US_NUTS
    assert {word for group in eu.groups if group.group == "nut" for word in group.words} == EU_NUTS
    assert {group.group for group in us.groups if group.by_kind} == {"fish", "crustacean shellfish", "tree nut"}
    assert {group.group for group in eu.groups if group.by_kind} == {"gluten", "nut"}


def test_words_of_one_list_are_in_one_group_only() -> None:
    for one in shipped_allergens():
        words = [word for group in one.groups for word in group.words]
        assert sorted(words) == sorted(set(words))
        assert words == [word.lower() for word in words]


def test_nut_and_cereal_are_named_with_their_group_by_each_list() -> None:
    words = ("hazelnut", "wheat", "milk", "prawn")
    assert texts(kitchen("us"), *words) == ["milk", "prawn (crustacean shellfish)", "hazelnut (tree nut)", "wheat"]
    assert texts(kitchen("eu"), *words) == ["wheat (gluten)", "prawn (crustacean)", "milk", "hazelnut (nut)"]
    assert texts(kitchen("us", "eu"), *words) == [
        "milk",
        "prawn (crustacean shellfish)",
        "hazelnut (tree nut)",
        "wheat (gluten)",
    ]


def test_allergen_on_no_printed_list_is_named_all_the_same() -> None:
    found = {one.word: one.listed for one in named_allergens(kitchen("us"), ("milk", "celery", "barley", "coconut"))}
    assert found == {"milk": True, "celery": False, "barley": False, "coconut": True}
    assert texts(kitchen("us", "eu"), "celery", "barley") == ["barley (gluten)", "celery"]


def test_kitchen_without_lists_prints_the_words_as_written() -> None:
    assert texts(small_kitchen(), "milk", "egg") == ["egg", "milk"]


def test_batch_inherits_what_the_very_lots_in_it_have_through_any_number_of_batches() -> None:
    batches = (batch("P1"), batch("B1", "milk"), batch("D1", "egg"))
    pegs = (peg("B1", "D1"), peg("X9", "P1"), peg("P1", "B1"))
    found = inherited(batches, pegs, {LotCode("X9"): stock("X9", "r", "pistachio")})
    assert found == {
        "P1": {"pistachio"},
        "B1": {"milk", "pistachio"},
        "D1": {"egg", "milk", "pistachio"},
    }


def test_lot_on_hand_has_those_of_its_recipe_and_its_own() -> None:
    where = small_kitchen()
    recipes = {recipe.id: recipe for recipe in where.recipes}
    assert stock_allergens(recipes, stock("C9", "custard-base", "almond")) == {"milk", "egg", "almond"}


def test_lot_on_hand_keeps_the_allergens_with_which_it_was_made_whatever_its_recipe_takes_since() -> None:
    kitchen = read_kitchen(Path(__file__).parents[2] / "config")
    lot = next(one for one in kitchen.stock if one.recipe == "hazelnut-custard")
    made = {"milk", "egg", "hazelnut"}
    recipes = {recipe.id: recipe for recipe in kitchen.recipes}
    assert stock_allergens(recipes, lot) == made
    swapped = swap(kitchen, SwapIngredient(ingredient="Hazelnuts", by="Almonds", allergens=("almond",)))
    after = {recipe.id: recipe for recipe in swapped.recipes}
    assert allergens_of(after, after[lot.recipe]) == {"milk", "egg", "almond"}
    (kept,) = (one for one in swapped.stock if one.lot == lot.lot)
    assert stock_allergens(after, kept) == made
    # Twice replaced, it still is what it was.
    again = swap(swapped, SwapIngredient(ingredient="Almonds", by="Pecans", allergens=("pecan",)))
    assert stock_allergens({r.id: r for r in again.recipes}, next(s for s in again.stock if s.lot == lot.lot)) == made
    # What takes of it has them too, though its own recipe names them no more.
    into = batch("D1", "milk", "egg", "almond")
    assert inherited((into,), (peg(lot.lot, "D1"),), {lot.lot: kept})["D1"] == {*made, "almond"}


def test_revision_that_names_other_allergens_leaves_what_is_on_hand_as_it_was_made() -> None:
    kitchen = read_kitchen(Path(__file__).parents[2] / "config")
    paste = next(one for one in kitchen.recipes if one.id == "hazelnut-paste")
    takes = tuple(
        take.model_copy(update={"ingredient": "Sunflower seeds", "allergens": ()}) if take.allergens else take
        for take in paste.steps[0].takes
    )
    first = paste.steps[0].model_copy(update={"takes": takes})
    asked = paste.model_copy(update={"steps": (first, *paste.steps[1:]), "allergens": (), "revision": 2})
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    after = revise(request, ReviseRecipe(recipe=asked)).kitchen
    recipes = {recipe.id: recipe for recipe in after.recipes}
    assert "hazelnut" not in allergens_of(recipes, recipes[RecipeId("hazelnut-custard")])
    (lot,) = (one for one in after.stock if one.recipe == "hazelnut-custard")
    assert "hazelnut" in stock_allergens(recipes, lot)
