"""A recipe written as YAML and read again, and every fault of a text with its line."""

from functools import cache
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.kitchen.read import read_kitchen
from orchestrator.kitchen.recipe_text import YamlRecipes

CONFIG = Path(__file__).parents[2] / "config"
NAMES = sorted(path.stem for path in (CONFIG / "recipes").glob("*.yaml"))
TEXTS = YamlRecipes()


@cache
def kitchen() -> Kitchen:
    return read_kitchen(CONFIG)


def recipe(name: str) -> Recipe:
    return next(one for one in kitchen().recipes if one.id == name)


@pytest.mark.parametrize("name", NAMES)
def test_recipe_written_and_read_again_is_the_same_but_for_its_number(name: str) -> None:
    text = TEXTS.write(recipe(name), kitchen())
    told = TEXTS.read(text, kitchen(), RecipeId(name))
    assert told.faults == ()
    assert told.recipe == recipe(name).model_copy(update={"revision": 2})


@pytest.mark.parametrize("name", NAMES)
def test_written_recipe_says_what_its_file_says_to_another_reader(name: str) -> None:
    """Read by ruamel.yaml itself, as data: names, steps and amounts stand where the kitchen's own file has them."""
    reader = YAML(typ="safe", pure=True)
    written, own = reader.load(TEXTS.write(recipe(name), kitchen())), reader.load(CONFIG / "recipes" / f"{name}.yaml")
    assert [step["id"] for step in written["steps"]] == [step["id"] for step in own["steps"]]
    assert written["code"] == own["code"]
    assert [len(step.get("takes", [])) for step in written["steps"]] == [len(s.get("takes", [])) for s in own["steps"]]


def test_kitchens_own_file_is_read_as_it_stands() -> None:
    text = (CONFIG / "recipes" / "damson-sorbet.yaml").read_text(encoding="utf-8")
    told = TEXTS.read(text, kitchen(), RecipeId("damson-sorbet"))
    assert told.recipe == recipe("damson-sorbet").model_copy(update={"revision": 2})


def test_every_fault_is_told_with_line_place_and_remedy() -> None:
    text = (CONFIG / "recipes" / "damson-sorbet.yaml").read_text(encoding="utf-8")
    wrong = text.replace("equipment: churn", "equipment: churm").replace("usual: 10 min", "usual: 10")
    told = TEXTS.read(wrong, kitchen(), RecipeId("damson-sorbet"))
    assert told.recipe is None
    lines = wrong.splitlines()
    places = {(fault.where, lines[fault.line - 1].strip()[:12]) for fault in told.faults}
    assert places == {
        (("steps", 0, "duration", "usual"), "duration: { "),
        (("steps", 1, "equipment"), "equipment: c"),
    }
    assert all(fault.remedy for fault in told.faults)


def test_text_that_is_no_yaml_says_where() -> None:
    told = TEXTS.read("id: a\n  name: b\n", kitchen(), None)
    assert (told.recipe, told.data) == (None, {})
    assert told.faults[0].line == 2
    assert TEXTS.read("", kitchen(), None).faults[0].what == "the file is empty"


def test_new_recipe_needs_an_id_and_a_code_that_are_free() -> None:
    text = TEXTS.write(recipe("damson-sorbet"), kitchen())
    told = TEXTS.read(text, kitchen(), None)
    assert {fault.where for fault in told.faults} == {("id",), ("code",)}
    fresh = text.replace("id: damson-sorbet", "id: plum-sorbet").replace("code: S", "code: PS")
    told = TEXTS.read(fresh, kitchen(), None)
    assert told.faults == ()
    assert told.recipe is not None
    assert (told.recipe.id, told.recipe.revision) == ("plum-sorbet", 1)


def test_next_revision_under_another_id_is_refused() -> None:
    text = TEXTS.write(recipe("damson-sorbet"), kitchen()).replace("id: damson-sorbet", "id: plum-sorbet")
    told = TEXTS.read(text, kitchen(), RecipeId("damson-sorbet"))
    assert [fault.where for fault in told.faults if fault.where] == [("id",)]


def test_recipe_that_would_take_itself_through_another_is_refused() -> None:
    text = TEXTS.write(recipe("damson-puree"), kitchen())
    wrong = text.replace("ingredient: Sugar", "component: damson-puree")
    told = TEXTS.read(wrong, kitchen(), RecipeId("damson-puree"))
    assert told.recipe is None
