"""The ingredient table: rows carried over from the national nutrient table, a kitchen's own, faults by line."""

from pathlib import Path

import pytest
from pydantic import ValidationError

from orchestrator.core.models.ingredient import ADD_UP, Contents, Ingredient
from orchestrator.kitchen.read import read_kitchen
from orchestrator.kitchen.shipped import shipped_ingredients
from tests.kitchen.small import faults, write_small

EXAMPLE = Path(__file__).parents[2] / "config"
# USDA National Nutrient Database, Standard Reference: water, lipid, ash, sugars, g in 100 g, as printed.
PRINTED = {
    "water": (99.90, 0.00, 0.10, 0.00),
    "salt": (0.20, 0.00, 99.80, 0.00),
    "salted-butter": (15.87, 81.11, 2.11, 0.06),
    "half-and-half": (80.57, 11.50, 0.67, 4.30),
    "light-whipping-cream": (63.50, 30.91, 0.46, 2.96),
    "heavy-cream": (57.71, 37.00, 0.45, 2.79),
    "whole-milk": (88.13, 3.25, 0.67, 5.05),
    "skim-milk": (90.84, 0.08, 0.75, 5.09),
    "skim-milk-powder": (3.16, 0.77, 7.93, 51.98),
    "whole-egg": (76.15, 9.51, 1.06, 0.37),
    "egg-yolk": (52.31, 26.54, 1.71, 0.56),
    "honey": (17.10, 0.00, 0.20, 82.12),
    "sugar": (0.02, 0.00, 0.01, 99.80),
    "cake-cones": (5.30, 6.90, 0.70, 6.00),
    "blueberries": (84.21, 0.33, 0.24, 9.96),
    "mangos": (83.46, 0.38, 0.36, 13.66),
    "raspberries": (85.75, 0.65, 0.46, 4.42),
    "strawberries": (90.95, 0.30, 0.40, 4.89),
}
ROWS = {row.id: row for row in shipped_ingredients()}
SUGARS = ("sucrose", "glucose", "fructose", "maltose", "mixed_sugars", "syrup_42de", "lactose")


@pytest.mark.parametrize("name", PRINTED)
def test_row_carries_the_printed_figures_over(name: str) -> None:
    water, lipid, ash, sugars = PRINTED[name]
    row = ROWS[name]
    assert row.status == "published"
    assert (row.per_100g.water, row.per_100g.fat) == (water, lipid)
    assert sum(getattr(row.per_100g, kind) for kind in SUGARS) == pytest.approx(sugars)
    assert row.per_100g.milk_solids_not_fat + row.per_100g.other_solids + 0.01 >= ash


def test_every_published_row_is_one_of_those_checked_here() -> None:
    assert {row.id for row in ROWS.values() if row.status == "published"} == set(PRINTED)


def test_row_that_is_not_printed_says_that_it_is_practice() -> None:
    assert {row.status for row in ROWS.values()} == {"published", "practice"}
    assert all("practice" in row.source for row in ROWS.values() if row.status == "practice")


@pytest.mark.parametrize("row", ROWS.values(), ids=lambda row: row.id)
def test_row_adds_up_and_says_where_its_density_comes_from(row: Ingredient) -> None:
    assert sum(getattr(row.per_100g, name) for name in ADD_UP) == pytest.approx(100.0, abs=0.05)
    assert (row.density_g_per_ml is None) == (row.density_source == "")
    assert row.cost_per_kg is None  # prices are a kitchen's own


def test_no_two_shipped_rows_answer_to_one_name() -> None:
    names = [name for row in ROWS.values() for name in row.names]
    assert len(names) == len(set(names))


def test_every_ingredient_of_the_example_but_the_zest_is_in_the_table() -> None:
    kitchen = read_kitchen(EXAMPLE)
    known = {name for row in kitchen.ingredients for name in row.names}
    taken = {take.ingredient for recipe in kitchen.recipes for step in recipe.steps for take in step.takes}
    assert {name for name in taken if name and name.casefold() not in known} == {"Grapefruit"}


@pytest.mark.parametrize(
    ("contents", "says"),
    [
        ({"water": 60, "fat": 30}, "adds up to 90.0 g of 100 g"),
        ({"water": 100, "lactose": 3}, "lactose is 3 g, more than the 0 g"),
        ({"water": 60, "fat": 40, "milk_fat": 45}, "milk_fat is 45 g"),
    ],
)
def test_row_that_cannot_be_is_refused(contents: dict[str, float], says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        Contents(**contents)


OWN = """\
ingredients:
  - id: sugar
    name: Sugar
    per_100g: { water: 1, sucrose: 99 }
    source: our supplier's sheet
  - id: goat-milk
    name: Goat's milk
    also: [Milk]
    per_100g: { water: 87, fat: 4, milk_solids_not_fat: 9, milk_fat: 4, lactose: 4.5 }
    density_g_per_ml: 1.03
    density_source: weighed
    allergens: [milk]
    source: our supplier's sheet
currency: EUR
prices:
  - { ingredient: Sugar, per_kg: 2 }
"""


def test_kitchen_replaces_rows_by_id_adds_its_own_and_prices_them(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "ingredients.yaml").write_text(OWN, encoding="utf-8")
    kitchen = read_kitchen(tmp_path)
    rows = {row.id: row for row in kitchen.ingredients}
    assert set(rows) == {*ROWS, "goat-milk"}
    assert (rows["sugar"].per_100g.sucrose, rows["sugar"].cost_per_kg) == (99, 2)
    assert rows["whole-milk"].also == ()  # 'Milk' means the goat's now
    assert rows["whole-milk"].cost_per_kg is None
    assert kitchen.currency == "EUR"


def test_kitchen_without_a_table_has_the_shipped_one(tmp_path: Path) -> None:
    write_small(tmp_path)
    assert read_kitchen(tmp_path).ingredients == shipped_ingredients()


@pytest.mark.parametrize(
    ("before", "after", "line", "says"),
    [
        ("{ water: 1, sucrose: 99 }", "{ water: 1, sucrose: 79 }", 4, "the row adds up to 80.0 g of 100 g"),
        ("{ water: 1, sucrose: 99 }", "{ water: 1, sucros: 99 }", 4, "unknown key 'sucros' — did you mean 'sucrose'?"),
        ("name: Goat's milk", "name: sugar", 7, "'sugar' is a name of 'sugar' already"),
        ("allergens: [milk]", "allergens: [Milk]", 12, "the allergen 'Milk' is not in lower case — write milk"),
        ("ingredient: Sugar, per_kg", "ingredient: Suger, per_kg", 16, "no ingredient 'Suger' — did you mean 'Sugar'?"),
        ("density_g_per_ml: 1.03", "density_g_per_ml: 1030", 10, "'density_g_per_ml', 1030, is too much"),
        ("currency: EUR", "currency: euro", 14, "'euro' cannot be the currency — write its three capitals of ISO 4217"),
        ("id: goat-milk", "id: sugar", 6, "the id 'sugar' is taken, on line 2"),
    ],
)
def test_fault_of_the_table_is_told_by_file_and_line(
    tmp_path: Path, before: str, after: str, line: int, says: str
) -> None:
    write_small(tmp_path)
    assert before in OWN
    (tmp_path / "ingredients.yaml").write_text(OWN.replace(before, after), encoding="utf-8")
    told = faults(tmp_path)
    assert any(fault.startswith(f"ingredients.yaml:{line}:") and says in fault for fault in told), told


MILK = """\
ingredients:
  - id: damson-yoghurt
    name: Damsons
    per_100g: { water: 90, milk_solids_not_fat: 10, lactose: 5 }
    allergens: [milk]
    source: ours, to try it
"""


def test_line_that_leaves_out_an_allergen_of_the_table_is_told_by_line(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "ingredients.yaml").write_text(MILK, encoding="utf-8")
    (told,) = faults(tmp_path)
    assert told.startswith("recipes/damson-puree.yaml:")
    assert "'Damsons' holds milk by the ingredient table, and the line does not say so" in told
    assert "add `allergens: [milk]`" in told
    path = tmp_path / "recipes" / "damson-puree.yaml"
    said = path.read_text(encoding="utf-8").replace("amount: 4 kg }", "amount: 4 kg, allergens: [milk] }")
    path.write_text(said, encoding="utf-8")
    assert read_kitchen(tmp_path).ingredients[-1].id == "damson-yoghurt"
