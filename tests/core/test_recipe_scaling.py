"""Scaling a recipe and what must be weighed for it, against arithmetic by hand and the unit library pint."""

from functools import cache
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.core.errors import Refusal
from orchestrator.core.ids import EquipmentId
from orchestrator.core.measures import WEIGHTS
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.quantities import Quantity
from orchestrator.core.recipe_scaling import (
    by_ingredient,
    by_load,
    by_yield,
    comes_out,
    does_not_fit,
    needs,
    scaled,
    stays_behind,
)
from orchestrator.core.recipe_uses import parts_of, used_in
from orchestrator.kitchen.read import read_kitchen

UNITS = pint.UnitRegistry()
PINT = {"g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound"}


@cache
def kitchen() -> Kitchen:
    return read_kitchen(Path(__file__).parents[2] / "config")


def recipe(name: str) -> Recipe:
    return next(one for one in kitchen().recipes if one.id == name)


def q(text: str) -> Quantity:
    return Quantity.model_validate(text)


def total(factor: float, name: str) -> float:
    found = [need for need in needs(kitchen(), recipe("damson-sorbet"), factor, expanded=True) if need.name == name]
    assert len(found) == 1
    assert found[0].weight_kg is not None
    return found[0].weight_kg


def test_scaled_by_yield_counts_what_stays_in_the_churn() -> None:
    factor = by_yield(recipe("damson-sorbet"), q("4.8 L"))
    assert factor == 1.0  # 5 L less 0.2 L in the churn, as the recipe says
    assert comes_out(recipe("damson-sorbet"), 2.0) == q("9.8 L")
    assert stays_behind(recipe("damson-sorbet")) == pytest.approx(0.2)


def test_scaled_by_yield_in_another_unit_is_refused_with_the_unit_that_would_do() -> None:
    told = by_yield(recipe("damson-sorbet"), q("4 kg"))
    assert isinstance(told, Refusal)
    assert told.remedy == "an amount in L"


def test_scaled_by_machine_load_fills_the_churn() -> None:
    churn = next(one for one in kitchen().equipment if one.kind == "churn")
    factor = by_load(kitchen(), recipe("damson-sorbet"), churn.id)
    assert churn.capacity is not None
    assert factor == churn.capacity.value / 4.0  # 4 L of mix at the written amounts
    again = scaled(recipe("damson-sorbet"), float(factor))
    assert next(step.load for step in again.steps if step.equipment == "churn") == churn.capacity
    told = by_load(kitchen(), recipe("damson-sorbet"), EquipmentId("oven"))
    assert isinstance(told, Refusal)


@pytest.mark.parametrize("unit", WEIGHTS)
def test_scaled_by_one_ingredient_uses_all_of_it_through_the_sub_recipe(unit: str) -> None:
    have = UNITS.Quantity(3.2, "kilogram").to(PINT[unit]).magnitude
    factor = by_ingredient(kitchen(), recipe("damson-sorbet"), "Damsons", have, unit, trimmed=False)
    assert isinstance(factor, float)
    assert total(factor, "Damsons") == pytest.approx(3.2, rel=1e-9)


def test_scaled_by_trimmed_weight_asks_for_more_as_bought() -> None:
    row = next(one for one in kitchen().ingredients if one.name == "Damsons")
    assert row.usable < 1
    factor = by_ingredient(kitchen(), recipe("damson-sorbet"), "damsons", 3.2, "kg", trimmed=True)
    assert isinstance(factor, float)
    need = next(n for n in needs(kitchen(), recipe("damson-sorbet"), factor, expanded=True) if n.name == "Damsons")
    assert need.usable_kg == pytest.approx(3.2, rel=1e-9)
    assert need.weight_kg == pytest.approx(3.2 / row.usable, rel=1e-9)


def test_scaled_by_an_ingredient_in_volume_needs_its_density() -> None:
    bare = kitchen().model_copy(update={"ingredients": ()})
    told = by_ingredient(bare, recipe("damson-sorbet"), "Sugar", 1.0, "cup", trimmed=False)
    assert isinstance(told, Refusal)
    assert "density" in told.remedy
    factor = by_ingredient(kitchen(), recipe("custard-base"), "Whole milk", 1.0, "gal", trimmed=False)
    litres = UNITS.Quantity(1, "gallon").to("liter").magnitude
    assert factor == pytest.approx(litres / 3.4)


def test_scaled_by_what_the_recipe_does_not_take_names_what_it_does() -> None:
    told = by_ingredient(kitchen(), recipe("damson-sorbet"), "Damsens", 1, "kg", trimmed=False)
    assert isinstance(told, Refusal)
    assert told.remedy == "did you mean Damsons?"


@given(st.floats(0.05, 50))
def test_expanded_needs_of_two_sizes_differ_by_amounts_alone(factor: float) -> None:
    """By hand: sugar is 0.55 kg a nominal sorbet and comes with the puree besides, a straight line in the factor."""
    one, two = total(1.0, "Sugar"), total(2.0, "Sugar")
    assert total(factor, "Sugar") == pytest.approx(one + (two - one) * (factor - 1.0), rel=1e-6, abs=1e-7)


def test_expanded_needs_of_the_sorbet_by_hand() -> None:
    puree = recipe("damson-puree")
    share = (2.5 + stays_behind(puree)) / puree.yields.value
    written = {t.ingredient: t.amount.value for step in puree.steps for t in step.takes}
    assert total(1.0, "Damsons") == pytest.approx(written["Damsons"] * share, rel=1e-9)
    assert total(1.0, "Sugar") == pytest.approx(0.55 + written.get("Sugar", 0.0) * share, rel=1e-9)


def test_what_does_not_fit_is_told_with_its_bound() -> None:
    told = does_not_fit(kitchen(), recipe("damson-sorbet"), 3.0)
    assert (told[0].machine, told[0].is_most) == (None, True)
    assert "churn" in {one.machine.kind for one in told if one.machine}
    assert does_not_fit(kitchen(), recipe("damson-sorbet"), 1.0) == ()


def test_recipe_knows_where_it_goes_and_what_it_is_made_from() -> None:
    uses = used_in(kitchen(), recipe("custard-base").id)
    assert {use.recipe.id for use in uses if use.direct} == {"basil-custard", "hazelnut-custard"}
    assert {one.id for one in parts_of(kitchen(), recipe("damson-sorbet"))} == {"damson-puree"}
