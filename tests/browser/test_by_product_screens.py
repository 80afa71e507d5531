"""What a step leaves over, in a real browser: written in the recipe's form, weighed as the step ends and later, thrown
away, and typed in US measures by who reads them."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.ids import LotCode, SupplyLotId
from orchestrator.core.material import books
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.state import LotStatus, State
from orchestrator.kitchen.read import read_kitchen
from tests.browser.conftest import Open
from tests.core.script import Script, at_target, in_a_planned_kitchen
from tests.core.test_by_products import WHITES, WHO, leaving
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at, small_kitchen

pytestmark = pytest.mark.browser
POUND = 0.45359237
"""kg. Source: the international avoirdupois pound of 1959, exactly."""


def on_the_hob() -> KitchenGateway:
    """The base, of which 900 g of whites are expected, has reached its target."""
    script: Script = in_a_planned_kitchen(recipes=[r.model_dump(mode="json") for r in leaving(small_kitchen(), WHITES)])
    script.give("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    gateway = KitchenGateway(script.state, at("Wed 08:40"), facts=script.facts)
    gateway.records = list(script.log)
    return gateway


def origin(page: Page) -> str:
    return "/".join(page.url.split("/")[:3])


def whites(gateway: KitchenGateway) -> IngredientLot:
    return gateway.state.pantry.lots[SupplyLotId("C1-left-1")]


def ended(page: Page, typed: str) -> None:
    """The step is ended on its page, the whites weighed."""
    field = page.get_by_label(re.compile("egg white left over"))
    field.fill(typed)
    page.locator("#finish").get_by_role("button", name="Finish").click()
    expect(page.locator("#finish")).to_have_count(0)


def test_whites_are_weighed_as_the_step_ends_put_right_later_and_thrown_away(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = on_the_hob()
    page = open_over(gateway)("/task/C1.cook", person=WHO)
    ended(page, "0.84")
    assert (whites(gateway).quantity.value, whites(gateway).weighed) == (0.84, True)
    page.goto(origin(page) + "/lots")
    row = page.locator("#left-C1-left-1")
    row.get_by_text("weigh it, or").click()
    row.get_by_label(re.compile("^Weighed")).fill("800 g")
    row.get_by_role("button").first.click()
    expect(page.locator("section.stock")).to_contain_text("800 g")
    assert whites(gateway).quantity.value == 0.8
    if not row.get_by_label(re.compile("^Why")).is_visible():
        row.get_by_text("weigh it, or").click()
    row.get_by_label(re.compile("^Why")).fill("smells")
    row.get_by_role("button").last.click()
    expect(page.locator("#left-C1-left-1")).to_have_count(0)
    assert gateway.state.lots[LotCode("C1-left-1")].status is LotStatus.DISCARDED
    assert books(gateway.state).accounts["C1-left-1"].lost == pytest.approx(0.8)


def test_reader_of_us_measures_weighs_them_in_pounds_and_ounces(open_over: Callable[[KitchenGateway], Open]) -> None:
    gateway = on_the_hob()
    page = open_over(gateway)("/person", person=WHO)
    page.context.add_cookies([{"name": "amounts", "value": "us", "url": page.url}])
    page.goto(origin(page) + "/task/C1.cook")
    expect(page.get_by_label(re.compile("egg white left over, in lb"))).to_be_visible()
    ended(page, "1 lb 12 oz")
    assert whites(gateway).quantity.value == pytest.approx(1.75 * POUND)
    page.goto(origin(page) + "/lots")
    expect(page.locator("section.stock")).to_contain_text(re.compile("1.75.lb"))


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_what_a_step_leaves_is_written_in_the_form_and_kept_with_the_draft(
    open_over: Callable[[KitchenGateway], Open], width: int, height: int
) -> None:
    kitchen = read_kitchen(Path(__file__).parents[2] / "config")
    gateway = KitchenGateway(State(kitchen=kitchen), kitchen.planning_start)
    page = open_over(gateway)("/drafts/new?of=damson-puree", width=width, height=height)
    page.locator("#step-1 > summary").click()
    row = page.locator('#step-1 .draft-row:has([name="f:steps.0.leaves.0.ingredient"])')
    row.get_by_label("What is left over").fill("Damson stones")
    row.get_by_label("Amount").fill("350 g")
    row.get_by_label("A part of").select_option("Damsons")
    row.get_by_label("Keeps").fill("1 d")
    row.get_by_label("Kept in").select_option("fridge")
    row.get_by_label("Room it takes there").fill("500 ml")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_role("button", name="Save the draft").click()
    expect(page.locator("main")).to_contain_text("Damson stones")
    (leave,) = gateway.state.drafts.drafts[1].recipe.steps[0].leaves
    assert (leave.ingredient, leave.amount.value, leave.of, leave.keeps) == ("Damson stones", 0.35, "Damsons", 1440)
    assert (leave.kept_in, leave.room.value if leave.room else None) == ("fridge", 0.5)
    # Emptied, it leaves nothing any more.
    page.goto(origin(page) + "/drafts/1/edit")
    page.locator("#step-1 > summary").click()
    for field in page.locator('#step-1 input[name^="f:steps.0.leaves.0."], [name^="c:steps.0.leaves.0."]').all():
        field.fill("")
    for chosen in page.locator('#step-1 select[name^="f:steps.0.leaves.0."]').all():
        chosen.select_option("")
    page.get_by_role("button", name="Save the draft").click()
    expect(page.locator("main")).not_to_contain_text("Damson stones")
    assert gateway.state.drafts.drafts[1].recipe.steps[0].leaves == ()
