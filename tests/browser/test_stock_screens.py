"""Receiving, traces, recall drills and what is in each store, in a real browser over core's own rules."""

import csv
import io
from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from orchestrator.core.commands import DecidePlan, OfferPlan
from orchestrator.core.ids import CommandId, CrewId, DrillId, LotCode, TaskId
from orchestrator.core.models import Plan
from orchestrator.core.planning import plan_request
from orchestrator.core.state import LotStatus, TaskStatus
from orchestrator.core.stock_events import DrillEnded
from orchestrator.gateway.door import Accepted
from tests.browser.conftest import Open
from tests.core.script import Script
from tests.core.stock_script import at_the_door, churned_and_tempered
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.planner.planned import planned

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (1920, 1080), (390, 844)]


def behind(script: Script) -> KitchenGateway:
    """The door to what a script has come to."""
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)
    return gateway


def drilled() -> KitchenGateway:
    """A drill on the milk runs since 10:51 on Saturday."""
    script = churned_and_tempered()
    script.give("Sat 10:51", "start_drill", lot="in-1", person="manager")
    return behind(script)


def adopt(gateway: KitchenGateway, plan: Plan) -> None:
    """The plan that was asked for has come; where it waits for somebody, the manager takes it."""
    assert isinstance(gateway.submit(OfferPlan(command_id=CommandId("plan-after"), plan=plan)), Accepted)
    if gateway.state.proposal is not None:
        taken = DecidePlan(
            command_id=CommandId("taken"), person=CrewId("manager"), proposal=gateway.state.proposal.seq, adopt=True
        )
        assert isinstance(gateway.submit(taken), Accepted)


@pytest.mark.parametrize(
    "path",
    ["/receiving?ingredient=egg+yolk", "/trace?lot=D-118", "/trace/in-1", "/trace/B1", "/drills/DRILL-1", "/lots"],
)
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_pages_of_stock_fit_their_screen_and_taps_are_64_px_high(
    open_over: Callable[[KitchenGateway], Open], path: str, width: int, height: int
) -> None:
    page = open_over(drilled())(path, width=width, height=height)
    expect(page.locator("main")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    targets = page.locator(".taps button:visible, .find button:visible, main form .main:visible")
    assert targets.count() > 0 or path in ("/lots", "/trace/B1")
    for number in range(targets.count()):
        box = targets.nth(number).bounding_box()
        assert box is not None
        assert box["height"] >= 64


def test_short_delivery_is_received_and_the_plan_waits_for_the_rest(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = behind(at_the_door())
    gateway.now = at("Wed 09:55")
    page = open_over(gateway)("/receiving", person="early-cook")
    card = page.locator('[data-task="damsons"]')
    expect(card).to_contain_text("the plan needs 4")
    card.get_by_text("It is here").click()
    card.get_by_label("How much came").fill("1.5")
    card.get_by_label("Supplier's lot").fill("P-3")
    card.get_by_text("If not all came").click()
    card.get_by_label("How much was ordered").fill("4")
    card.get_by_label("When does the rest").fill("2026-11-26T07:00")
    card.get_by_role("button", name="too little").click()
    expect(card).to_contain_text("1.5 kg here until then")
    assert gateway.state.replan_reason == "damsons came short"
    plan = planned(plan_request(gateway.state, gateway.now))
    adopt(gateway, plan)
    assert plan.task(TaskId("S1.simmer")).start >= at("Thu 07:00")
    page.goto(page.url)
    expect(page.locator('[data-task="damsons"]')).to_contain_text("first Thu 07:00")
    expect(page.locator(".panel-stocked")).to_contain_text("too little 1.5 kg of 4 kg")


def test_warm_milk_is_not_taken_in_by_a_cook_and_says_by_how_much(open_over: Callable[[KitchenGateway], Open]) -> None:
    gateway = behind(at_the_door())
    page = open_over(gateway)("/receiving?ingredient=whole+milk", person="early-cook")
    card = page.locator('#other [data-task="whole milk"]')
    card.get_by_label("How much came").fill("4")
    card.get_by_label("Measured between").fill("7.5")
    card.get_by_role("button", name="Take it in", exact=True).click()
    expect(page.locator("body")).to_contain_text("it came 2.5 °C above its limit")
    assert len(gateway.state.pantry.lots) == 2
    card.get_by_label("Reason, if refused").fill("van without cooling")
    card.get_by_role("button", name="Refuse it").click()
    expect(page.locator(".panel-stocked")).to_contain_text("REFUSED")
    assert gateway.state.replan_reason == "whole milk was refused"


def test_discarded_lot_is_made_again_by_the_plan_that_follows(open_over: Callable[[KitchenGateway], Open]) -> None:
    script = at_the_door()
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    script.give("Wed 08:20", "report_problem", task="C1.cook", what="quality", hold_lot=True, person="early-cook")
    gateway = behind(script)
    page = open_over(gateway)("/lots", person="early-cook")
    card = page.locator("#C1")
    card.get_by_label("Discard").check()
    card.locator("input[name=reason]").fill("curdled")
    card.get_by_role("button").click()
    expect(page.locator("body")).to_contain_text("curdled")
    assert gateway.state.lots[LotCode("C1")].status is LotStatus.DISCARDED
    plan = planned(plan_request(gateway.state, gateway.now))
    adopt(gateway, plan)
    assert [b.lot for b in plan.batches if b.recipe == "custard-base"] != ["C1"]
    page.goto(page.url)
    expect(page.locator("body")).to_contain_text("C2")


def test_recall_drill_is_led_to_its_end_and_its_time_and_share_are_on_record(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = behind(churned_and_tempered())
    opened = open_over(gateway)
    page = opened("/trace?lot=D-118")
    page.locator(".lot-link", has_text="in-1").click()
    expect(page.locator("main")).to_contain_text("The books balance.")
    expect(page.locator("main")).to_contain_text("Market stall")
    page.get_by_role("button", name="Start the drill").click()
    page.get_by_role("link", name="DRILL-1").click()
    gateway.now = at("Sat 10:58")
    page.goto(page.url)
    # 6 L came, 3 L went into C1, all of that into B1, all of that but 0.1 L to the stall.
    expect(page.locator(".find")).to_have_count(3)
    for name, button in (("in-1", "Found"), ("SAT-STALL", "Reached")):
        page.locator(".find", has_text=name).get_by_role("button", name=button).click()
        expect(page.locator(".find", has_text=name)).to_contain_text("found by Manager")
    page.locator(".find", has=page.locator("b", has_text="B1")).first.get_by_role("button", name="Not there").click()
    expect(page.locator("main")).to_contain_text("NOT THERE")
    page.get_by_label("What could have been quicker").fill("label the last tub")
    page.get_by_role("button", name="End the drill").click()
    expect(page.locator(".drill-head")).to_contain_text("99 % accounted for")
    ended = [r.event for r in gateway.records if isinstance(r.event, DrillEnded)]
    assert [round(e.accounted, 3) for e in ended] == [round(1 - 0.5 * 0.1 / 4.9, 3)]
    assert gateway.state.drills[DrillId("DRILL-1")].ended_at is not None
    house = page.url.rsplit("/", 2)[0]
    page.goto(house + "/trace")
    expect(page.locator("main")).to_contain_text("8 min, 99 % accounted for")
    listed = list(csv.DictReader(io.StringIO(page.request.get(house + "/csv/drills.csv").text())))
    assert sorted(row["found"] for row in listed) == ["no", "yes", "yes"]
    assert {row["drill"] for row in listed} == {"DRILL-1"}


def test_another_lot_of_an_ingredient_is_one_tap(open_over: Callable[[KitchenGateway], Open]) -> None:
    script = at_the_door()
    second = {"ingredient": "whole milk", "quantity": "5 L", "keep": "cold", "celsius": 3.0, "supplier_lot": "D-120"}
    script.give("Wed 07:40", "receive_delivery", outcome="accepted", person="early-cook", **second)
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    gateway = behind(script)
    page = open_over(gateway)("/task/C1.cook", person="early-cook")
    expect(page.locator("#used")).to_contain_text("in-1")
    page.get_by_role("button", name="Use in-3 D-120").click()
    expect(page.get_by_role("button", name="Use in-1 D-118")).to_be_visible()
    assert [u.lot for u in gateway.state.pantry.uses[TaskId("C1.cook")] if u.ingredient == "whole milk"] == ["in-3"]
    assert gateway.state.record(TaskId("C1.cook")).status is TaskStatus.IN_HAND


def test_closing_count_needs_a_reason_and_changes_the_books(open_over: Callable[[KitchenGateway], Open]) -> None:
    script = churned_and_tempered()
    gateway = behind(script)
    page = open_over(gateway)("/lots")
    place = page.locator("article", has=page.locator("details", has_text="Closing count")).last
    place.get_by_text("Closing count").click()
    place.get_by_label("Counted").fill("0.02")
    place.get_by_role("button", name="Enter count").click()
    expect(page.locator("body")).to_contain_text("Say why")
    place.get_by_label("Counted").fill("0.02")
    place.get_by_label("Why it differs").fill("tasted")
    place.get_by_role("button", name="Enter count").click()
    expect(page.locator("body")).to_contain_text("20 ml by the books")
    page.goto(page.url.replace("/lots", "/trace/B1"))
    expect(page.locator("main")).to_contain_text("tasted")
    expect(page.locator("main")).to_contain_text("The books balance.")
