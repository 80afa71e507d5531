"""Paths walked for the first time: a °F door, a hand-over taken, a remedy, minutes, a failed check, a count."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from orchestrator.core.ids import LotCode, ProbeId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.state import LotStatus
from tests.browser.conftest import Open
from tests.browser.full_house import full_house
from tests.browser.test_stock_screens import behind
from tests.core.script import Script, in_a_planned_kitchen, with_base_chilling
from tests.core.stock_script import at_the_door, churned_and_tempered
from tests.display.test_durations_page import gateway as learned
from tests.display.test_helping import REMEDY, SlowGateway, tried
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser

Over = Callable[[KitchenGateway], Open]


def test_milk_typed_in_celsius_at_a_door_of_fahrenheit_is_asked_about_and_then_too_warm(open_over: Over) -> None:
    gateway = behind(at_the_door())
    assert gateway.state.kitchen is not None
    gateway.state = replace(gateway.state, kitchen=gateway.state.kitchen.model_copy(update={"temperature_unit": "F"}))
    page = open_over(gateway)("/receiving?ingredient=whole+milk", person="early-cook")
    card = page.locator('#other [data-task="whole milk"]')
    card.get_by_label("How much came").fill("4")
    card.get_by_label("Measured between").fill("9")
    card.get_by_role("button", name="Take it in", exact=True).click()
    page.get_by_role("button", name="It says 9 °C: 48.2 °F").click()
    expect(page.locator(".messages")).to_contain_text("7.2 °F above its limit")
    assert len(gateway.state.pantry.deliveries) == 2
    card.get_by_label("Reason, if refused").fill("van without cooling")
    card.get_by_label("Measured between").fill("48.2")
    card.get_by_role("button", name="Refuse it").click()
    expect(page.locator(".messages")).to_contain_text("When more comes was not said")
    expect(page.locator(".panel-receiving [data-task='whole milk']")).to_contain_text("nobody has said when")


def test_page_of_a_step_tells_its_reading_alone_while_the_link_is_there(open_over: Over) -> None:
    page = open_over(full_house())("/task/C1.cook")
    shown = page.locator(".glance .figure:visible")
    expect(shown).to_have_count(1)
    expect(shown).to_contain_text("°C")
    page.evaluate("document.body.classList.add('off')")
    expect(shown).to_have_text("No reading")


def test_shift_that_ends_is_handed_over_and_taken_over_by_the_next(open_over: Over) -> None:
    script = in_a_planned_kitchen()
    assert script.state.kitchen is not None
    shift = next(s for m in script.state.kitchen.crew if m.id == "early-cook" for s in m.shifts)
    script.now = shift.end - timedelta(minutes=10)
    gateway = behind(script)
    opened = open_over(gateway)
    page = opened("/station/stove", person="early-cook")
    offer = page.locator("header .shift-end")
    assert offer.evaluate("e => e.getBoundingClientRect().top >= 0")
    assert offer.evaluate("e => e.getBoundingClientRect().bottom <= e.closest('header').getBoundingClientRect().bottom")
    offer.click()
    page.get_by_label("What else the next shift must know").fill("The churn's belt slips.")
    page.get_by_role("button", name="Hand over").click()
    expect(page.locator("main")).to_contain_text("Nobody has taken over yet.")
    other = opened("/station/stove", person="late-cook", width=390, height=844)
    other.get_by_role("link", name="Read hand-over note").click()
    expect(other.locator(".handover-text")).to_have_text("The churn's belt slips.")
    other.get_by_role("button", name="I have read it").click()
    expect(other.locator("main")).to_contain_text("Taken over by Late cook")
    assert [(one.by, one.taken_by) for one in gateway.state.handovers] == [("early-cook", "late-cook")]


def test_remedy_is_looked_at_and_adopted_from_what_helps(open_over: Over) -> None:
    gateway = SlowGateway()
    gateway.let.set()
    gateway.answers["what_if"] = tried(gateway)
    page = open_over(gateway)("/orders/SAT-STALL/help")
    way = page.get_by_role("link", name="Show what it would change")
    while not way.count():
        page.goto(page.url)
    way.click()
    expect(page.locator("main")).to_contain_text("On time · 25 min spare")
    page.get_by_role("button", name="Carry it out as Manager").click()
    expect(page.locator(".messages")).to_contain_text("Carried out and kept.")
    done = next(r.event for r in gateway.records if isinstance(r.event, KitchenChanged))
    assert done.changes == REMEDY.changes


def test_learned_minutes_are_adopted_and_taken_back(open_over: Over) -> None:
    gateway = learned()
    page = open_over(gateway)("/durations")
    page.get_by_role("button", name="Adopt 35 min (27 to 43)").click()
    expect(page.locator("main")).to_contain_text("Adopted 15:00 by Manager, from 9 tasks")
    page.get_by_role("button", name="Take back: 30 min").click()
    expect(page.get_by_role("button", name="Adopt 35 min (27 to 43)")).to_be_visible()


def test_check_that_fails_holds_the_lots_it_judged_and_each_is_decided(open_over: Over) -> None:
    script: Script = with_base_chilling(in_a_planned_kitchen())
    gateway = behind(script)
    opened = open_over(gateway)
    page = opened("/probe/hob-1-core")
    page.get_by_label("Ice water, stirred").check()
    page.get_by_label("The probe shows").fill("3.4")
    page.get_by_role("button", name="Enter the check").click()
    expect(page.locator(".messages")).to_contain_text("In doubt since the last good check: C1.")
    cook = opened("/deviations/DEV-1", person="early-cook")
    cook.get_by_label("Second look").check()
    cook.get_by_label("In words").fill("82.4 °C beside it")
    cook.get_by_role("button", name="Put on record").click()
    expect(cook.locator(".messages")).to_contain_text("their second look at it would not count")
    lots = opened("/lots")
    card = lots.locator("#C1")
    expect(card.locator("p", has_text="A safety limit was broken")).to_have_css("font-weight", "400")
    card.get_by_label("Discard", exact=True).check()
    card.get_by_label("Why: what was checked").fill("nothing else measured it")
    card.get_by_role("button", name="Decide").click()
    expect(lots.locator("#C1.card")).to_have_count(0)
    assert gateway.state.lots[LotCode("C1")].status is LotStatus.DISCARDED
    assert not gateway.state.probes.checks[ProbeId("hob-1-core")][-1].passed


def test_count_of_more_than_was_ever_there_is_asked_about(open_over: Over) -> None:
    gateway = behind(churned_and_tempered())
    page = open_over(gateway)("/lots")
    place = page.locator("article", has=page.locator("details", has_text="Closing count")).last
    place.get_by_text("Closing count").click()
    place.get_by_label("Counted").fill("14")
    place.get_by_label("Why it differs").fill("counted anew")
    place.get_by_role("button", name="Enter count").click()
    expect(page.locator(".messages")).to_contain_text("of it was ever there")
    page.get_by_role("button", name="It is 14").click()
    expect(page.locator(".messages")).to_contain_text("Counted")
