"""Pages of mixes: figures, what is missing, the picture, standards as advice, a balance that changes nothing."""

import csv
import io
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.mix_drawing import ice_picture
from display.views import CoreViews
from orchestrator.core.mix.book import book_of
from orchestrator.core.models import Kitchen
from orchestrator.core.state import State
from orchestrator.core.views.mix import mix_view
from orchestrator.kitchen.read import read_kitchen
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway

EXAMPLE = Path(__file__).parents[2] / "config"
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def kitchen() -> Kitchen:
    return read_kitchen(EXAMPLE)


@pytest.fixture(scope="module")
def client(kitchen: Kitchen) -> FlaskClient:
    return create_app(KitchenGateway(State(seq=1, kitchen=kitchen), NOW), CoreViews()).web.test_client()


def text(client: FlaskClient, path: str, status: int = 200) -> str:
    answer = client.get(path)
    assert answer.status_code == status
    page = Page(answer.text.replace("<t", " <t"))  # cells apart
    assert page.inline_styles == []
    assert page.inline_scripts == []
    assert len(page.ids) == len(set(page.ids))
    return page.text.replace("\u00a0", " ")


def test_start_leads_to_every_mix(client: FlaskClient, kitchen: Kitchen) -> None:
    assert "/mix" in Page(client.get("/").text).links.values()
    links = Page(client.get("/mix").text).links
    assert {f"/mix/{recipe.id}" for recipe in kitchen.recipes} <= set(links.values())
    for recipe in kitchen.recipes:
        text(client, f"/mix/{recipe.id}")
        text(client, f"/mix/{recipe.id}/balance")


def test_page_shows_figures_air_cost_ice_and_the_standard_as_advice(client: FlaskClient) -> None:
    shown = text(client, "/mix/hazelnut-custard")
    assert "Milk fat 10.4 %" in shown
    assert "Air beaten in (overrun) 26 %" in shown
    assert "50 of 100 ml" in shown
    assert "Drawn out of the churn −6 °C 62 %" in shown
    assert "for frozen custard: advice, never clearance" in shown
    assert "short of it" in shown
    assert "Tub 100 mm: 2 h 05" in shown
    assert re.search(r"Ingredients \d+\.\d\d GBP; \d+\.\d\d GBP a litre, \d+\.\d\d GBP a portion", shown)
    assert "4 h (3 h to 6 h)" in shown


def test_page_names_what_is_missing_and_what_follows(client: FlaskClient) -> None:
    powder = text(client, "/mix/grapefruit-powder")
    assert "Grapefruit is not in the ingredient table (12)." in powder
    assert "there are no figures" in powder
    assert "Balance" not in powder
    custard = text(client, "/mix/basil-custard")
    assert "Grapefruit is not in the ingredient table (12), in Grapefruit powder." in custard
    assert "It is folded in after the churn: the mix's own figures hold." in custard
    assert "without Grapefruit: no price" in custard


def test_page_says_that_a_yield_does_not_fit_its_amounts(kitchen: Kitchen) -> None:
    steps = tuple(
        step.model_copy(update={"takes": ()}) if step.id == "blend" else step
        for step in next(one for one in kitchen.recipes if one.id == "basil-puree").steps
    )
    recipes = tuple(
        one.model_copy(update={"steps": steps}) if one.id == "basil-puree" else one for one in kitchen.recipes
    )
    gateway = KitchenGateway(State(seq=1, kitchen=kitchen.model_copy(update={"recipes": recipes})), NOW)
    shown = text(create_app(gateway, CoreViews()).web.test_client(), "/mix/basil-puree")
    assert "The recipe says 1 L, its amounts give 445 ml" in shown


def test_fahrenheit_kitchen_reads_fahrenheit(kitchen: Kitchen) -> None:
    there = kitchen.model_copy(update={"temperature_unit": "F"})
    shown = text(
        create_app(KitchenGateway(State(seq=1, kitchen=there), NOW), CoreViews()).web.test_client(),
        "/mix/hazelnut-custard",
    )
    assert "Begins to freeze 28.3 °F" in shown
    assert "°C" not in shown


def test_reader_of_us_measures_reads_pounds_a_gallon_as_the_standard_is_written(client: FlaskClient) -> None:
    # 21 CFR 135.110(a)(2): not less than 1.6 pounds of total solids to the gallon, and not less than 4.5 pounds.
    client.set_cookie("amounts", "us")
    shown = text(client, "/mix/hazelnut-custard")
    client.delete_cookie("amounts")
    assert re.search(r"Weight of a gallon \d\.\d\d lb at least 4\.50 lb", shown)
    assert re.search(r"Solids in a gallon \d\.\d\d(–\d\.\d\d)? lb at least 1\.60 lb", shown)
    assert re.search(r"Ingredients \d+\.\d\d GBP; \d+\.\d\d GBP a quart", shown)
    assert not re.search(r"\d (kg|L|ml)\b|lb/L", shown)


ASK = "/mix/custard-base/balance?ask=yes&may0=freely&may1=freely&may2=freely&may3=freely&weight=yes"


def test_balance_is_a_difference_beside_the_recipe_which_stays(client: FlaskClient) -> None:
    before = text(client, "/mix/custard-base")
    shown = text(client, f"{ASK}&least_milk_solids_not_fat=9&add1=Skim+milk+powder")
    assert "Skim milk powder 0 g" in shown
    assert "Nothing is changed by this" in shown
    assert "Milk solids not fat 5.8 % 9.0 %" in shown
    assert text(client, "/mix/custard-base") == before


def test_balance_that_cannot_be_had_says_which_ranges_conflict(client: FlaskClient) -> None:
    shown = text(client, f"{ASK}&least_milk_fat=10&most_fat=8&most_sugars=30")
    assert "These cannot be had together" in shown
    assert "Fat at most 8 %" in shown
    assert "Milk fat at least 10 %" in shown
    assert "Sugars besides lactose at most" not in shown
    assert "The nearest that can be had is shown below" in shown


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("", "No range is written"),
        ("&least_fat=lots", "Fat, at least"),
        ("&least_fat=12&most_fat=8", "Fat: at least 12 is more than at most 8. Swap the two."),
        ("&least_fat=nan", "Fat, at least"),
        ("&least_fat=9&may0=perhaps", "perhaps"),
    ],
)
def test_form_that_makes_no_question_is_told_and_kept(client: FlaskClient, more: str, says: str) -> None:
    path = ASK.replace("may0=freely&", "") if "may0" in more else ASK
    assert says in text(client, path + more, 422)


def test_everything_staying_is_told(client: FlaskClient) -> None:
    stays = ASK.replace("freely", "stays")
    assert "Everything stays" in text(client, f"{stays}&least_fat=9", 422)


def test_usual_ranges_are_written_in_on_request(client: FlaskClient) -> None:
    fields = (
        Page(client.get("/mix/hazelnut-custard/balance?usual=yes").text)
        .form("/mix/hazelnut-custard/balance#proposal")
        .fields
    )
    assert (fields["least_milk_fat"], fields["most_milk_fat"]) == ("10", "16")
    assert fields["least_fat"] == ""


def test_csv_has_a_line_for_every_recipe_and_no_figure_where_none_is_known(
    client: FlaskClient, kitchen: Kitchen
) -> None:
    answer = client.get("/mix.csv")
    assert answer.mimetype == "text/csv"
    rows = {row["recipe"]: row for row in csv.DictReader(io.StringIO(answer.text))}
    assert set(rows) == {str(recipe.id) for recipe in kitchen.recipes}
    assert float(rows["custard-base"]["milk_fat_least"]) == pytest.approx(12.07, abs=0.01)
    assert float(rows["damson-sorbet"]["freezes_c_most"]) == pytest.approx(-2.94, abs=0.01)
    assert rows["grapefruit-powder"]["fat_most"] == ""
    assert {row["currency"] for row in rows.values()} == {"GBP"}
    assert "Grapefruit: no row" in rows["grapefruit-powder"]["missing"]


@pytest.mark.parametrize("path", ["/mix/nowhere", "/mix/nowhere/balance"])
def test_unknown_recipe_is_not_found(client: FlaskClient, path: str) -> None:
    assert "Nothing by that name" in text(client, path, 404)


def test_picture_runs_from_no_ice_to_much_and_its_marks_lie_on_it(kitchen: Kitchen) -> None:
    recipe = next(one for one in kitchen.recipes if one.id == "damson-sorbet")
    view = mix_view(recipe, kitchen, book_of(kitchen))
    drawn = ice_picture(view)
    assert drawn is not None
    assert drawn.exact
    assert (drawn.low[0], drawn.low[-1][0]) == ((0.0, 100.0), 100.0)
    heights = [y for _, y in drawn.low]
    assert heights == sorted(heights, reverse=True)  # y grows downward: ever more ice
    assert [one.mark.name for one in drawn.marks] == ["draw", "scoop", "core", "store"]
    for one in drawn.marks:
        near = min(drawn.low, key=lambda point: abs(point[0] - one.x))
        assert one.y == pytest.approx(near[1], abs=0.6)
        # In a drawing 230 px high, with letters of 16 px, a level's figure stands 4 px above its line.
        assert all(abs(2.3 * (one.name_y - (100 - level)) + 4) >= 16 for level in (25, 50))
    base = next(one for one in kitchen.recipes if one.id == "custard-base")
    assert ice_picture(mix_view(base, kitchen, book_of(kitchen))) is None
