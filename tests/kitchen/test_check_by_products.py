"""By-products in files: amounts, places, what they are a part of, and circles."""

from pathlib import Path

import pytest

from orchestrator.kitchen import read_kitchen
from tests.kitchen.small import change, faults, write_small

PUREE, SORBET = "recipes/damson-puree.yaml", "recipes/damson-sorbet.yaml"
TAKES = "      - { ingredient: Damsons, amount: 4 kg }\n"
LEAVES = (
    TAKES
    + "    leaves:\n"
    + "      - { ingredient: Damson stones, amount: 400 g, of: Damsons, keeps: 1 d, kept_in: fridge, room: 500 ml }\n"
)


def leaving(folder: Path, old: str = "", new: str = "", more: tuple[str, str, str] | None = None) -> Path:
    """The small kitchen whose puree leaves its stones, otherwise written."""
    write_small(folder)
    change(folder, PUREE, TAKES, LEAVES)
    if old:
        change(folder, PUREE, old, new)
    if more is not None:
        change(folder, *more)
    return folder


def test_what_a_step_leaves_is_read_as_written(tmp_path: Path) -> None:
    kitchen = read_kitchen(leaving(tmp_path))
    puree = next(recipe for recipe in kitchen.recipes if recipe.id == "damson-puree")
    (leave,) = puree.steps[0].leaves
    assert (leave.ingredient, leave.amount.value, leave.of, leave.keeps) == ("Damson stones", 0.4, "Damsons", 1440)
    assert (leave.kept_in, leave.room.value if leave.room else None) == ("fridge", 0.5)


CASES = [
    ("amount: 400 g", "amount: 0 g", "the amount is nothing"),
    ("amount: 400 g", "amount: 4.5 kg", "4.5 kg of 'Damson stones' is more than Damsons, 4 kg"),
    ("of: Damsons", "of: Plums", "'Damson stones' is said to be a part of 'Plums', which this step does not take"),
    ("kept_in: fridge", "kept_in: cellar", "there is no equipment of the kind 'cellar'"),
    ("kept_in: fridge", "kept_in: hob", "'hob' is no store"),
    ("room: 500 ml", "room: 1 trays", "the room is in trays, 'fridge' is counted in L"),
]


@pytest.mark.parametrize(("old", "new", "says"), CASES, ids=[new for _, new, _ in CASES])
def test_fault_names_what_cannot_be(tmp_path: Path, old: str, new: str, says: str) -> None:
    (found,) = faults(leaving(tmp_path, old, new))
    assert says in found
    assert found.startswith(f"{PUREE}:")


def test_unit_is_that_of_those_who_take_it(tmp_path: Path) -> None:
    take = "      - { component: damson-puree, amount: 2.5 L }\n"
    own = (SORBET, take, take + "      - { ingredient: Damson stones, amount: 1 L }\n")
    (found,) = faults(leaving(tmp_path, more=own))
    # The sorbet takes what its own component leaves, which is right; only the unit is not.
    assert "'Damson stones' is left in kg, and in L in recipes/damson-sorbet.yaml" in found


def test_recipe_that_waits_for_what_is_left_of_itself_goes_round_in_a_circle(tmp_path: Path) -> None:
    own = (PUREE, TAKES, TAKES + "      - { ingredient: Damson stones, amount: 100 g }\n")
    (found,) = faults(leaving(tmp_path, more=own))
    assert "'Damson stones' goes round in a circle: damson-puree → damson-puree" in found


def test_stay_leaves_nothing(tmp_path: Path) -> None:
    write_small(tmp_path)
    stay = "    stay: { least: 4 h, most: 5 d, window: safety }\n"
    change(tmp_path, PUREE, stay, stay + "    leaves: [{ ingredient: Foam, amount: 100 ml }]\n")
    found = faults(tmp_path)
    assert any("the stay 'keep' leaves something" in one for one in found)
