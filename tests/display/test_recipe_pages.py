"""Pages of recipes, as rendered from the example kitchen."""

from functools import cache
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen
from orchestrator.core.models.tongue import Texts
from orchestrator.core.revisions import revised
from orchestrator.core.state import State
from orchestrator.kitchen.read import read_kitchen
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway

CONFIG = Path(__file__).parents[2] / "config"


@cache
def kitchen() -> Kitchen:
    return read_kitchen(CONFIG)


def gateway_of(known: Kitchen | None = None) -> KitchenGateway:
    known = known or kitchen()
    return KitchenGateway(State(kitchen=known), known.planning_start)


def client(known: Kitchen | None = None, person: str = "") -> FlaskClient:
    made = create_app(gateway_of(known), CoreViews()).web.test_client()
    if person:
        made.set_cookie("person", person)
    return made


def text(path: str, known: Kitchen | None = None) -> str:
    answer = client(known).get(path)
    assert answer.status_code == 200, path
    return Page(answer.text.replace("<", " <")).text.replace("\u00a0", " ").replace(" ,", ",")


def test_recipes_are_listed_with_links_and_reached_from_the_way_in() -> None:
    page = Page(client().get("/recipes").text)
    for recipe in kitchen().recipes:
        assert page.links[recipe.name] == f"/recipes/{recipe.id}"
    assert "/recipes" in Page(client().get("/").text).links.values()


@pytest.mark.parametrize("recipe", [recipe.id for recipe in read_kitchen(CONFIG).recipes])
@pytest.mark.parametrize("query", ["", "?measures=us&opened=yes", "?by=yield&amount=3,5"])
def test_every_recipe_has_a_page_with_all_its_steps(recipe: str, query: str) -> None:
    shown = text(f"/recipes/{recipe}{query}")
    for step in next(one for one in kitchen().recipes if one.id == recipe).steps:
        assert step.title in shown
        for line in (*step.method, *step.cautions):
            assert line in shown


def test_recipe_page_says_windows_targets_and_allergens_in_words() -> None:
    shown = text("/recipes/custard-base")
    assert "After: Cook the custard base, within 15 min of its end (safety: never planned broken)" in shown
    assert "Target: at least 82 °C, held 1 min, never above 85 °C" in shown
    assert "Stays 12 h to 3 d (quality)" in shown.replace("72 h", "3 d")
    shown = text("/recipes/basil-custard")
    assert "Inherited milk, egg" in shown


def test_recipe_scaled_by_damsons_says_what_to_weigh_and_how_much_is_left_after_trimming() -> None:
    path = "/recipes/damson-sorbet?by=ingredient&ingredient=Damsons&amount=3.2&unit=kg&opened=yes"
    shown = text(path)
    usable = next(row.usable for row in kitchen().ingredients if row.name == "Damsons")
    assert "Damsons 3.2 kg" in shown
    assert f"({usable * 100:.0f} %)" in shown


def test_recipe_in_us_measures_shows_pounds_and_cups_by_nist_definitions() -> None:
    """Sugar 550 g: NIST Handbook 44 has 1 lb = 453.592 37 g, so 1.21 lb."""
    assert "Sugar 1.21 lb" in text("/recipes/damson-sorbet?measures=us")


def test_volume_without_density_is_said_to_be_so() -> None:
    bare = kitchen().model_copy(update={"ingredients": ()})
    shown = text("/recipes/damson-sorbet", bare)
    assert "Water 1.2 L no density known: weigh it once, enter g/mL" in shown


def test_scaling_that_cannot_be_is_said_with_its_remedy_and_what_was_typed_stays() -> None:
    answer = client().get("/recipes/damson-sorbet?by=ingredient&ingredient=Damsons&amount=lots&unit=kg")
    page = Page(answer.text)
    assert "lots" in page.text
    form = next(form for form in page.forms if form.fields.get("by") == "ingredient")
    assert form.fields["amount"] == "lots"


def test_former_revision_stays_readable_and_says_what_differs() -> None:
    sorbet = next(one for one in kitchen().recipes if one.id == "damson-sorbet")
    mix = sorbet.steps[0].model_copy(update={"title": "Mix it well"})
    known = revised(kitchen(), sorbet.model_copy(update={"revision": 2, "steps": (mix, *sorbet.steps[1:])}))
    assert isinstance(known, Kitchen)
    shown = text("/recipes/damson-sorbet", known)
    assert "Mix it well Title Mix the damson sorbet Mix it well" in shown
    former = text("/recipes/damson-sorbet?revision=1", known)
    assert "A former revision. What is made now follows revision 2." in former
    assert "Mix the damson sorbet" in former


def test_recipe_as_yaml_is_what_the_kitchen_room_writes() -> None:
    answer = client().get("/recipes/damson-sorbet.yaml")
    assert answer.mimetype == "application/yaml"
    read = gateway_of().recipe_texts.read(answer.text, kitchen(), RecipeId("damson-sorbet"))
    assert read.faults == ()


@pytest.mark.parametrize("path", ["/recipes/none", "/recipes/none.yaml", "/recipes/damson-sorbet?revision=9"])
def test_recipe_that_is_not_there_says_where_to_look(path: str) -> None:
    answer = client().get(path)
    assert answer.status_code == 404
    assert "list of recipes" in answer.text


def test_recipe_page_has_one_language_up_to_its_title() -> None:
    texts = Texts(language="es", texts={"Basil custard": "Helado de albahaca"})
    reader = client(kitchen().model_copy(update={"texts": (texts,)}))
    reader.set_cookie("language", "es")
    page = reader.get("/recipes/basil-custard").text
    title = page.partition("<title>")[2].partition("</title>")[0]
    assert title.endswith("Helado de albahaca")
    assert "Basil custard" not in Page(page).text
