"""The planning table and the first steps in a real browser, over core's own rules."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.state import State
from orchestrator.gateway.door import Gateway
from orchestrator.kitchen import new_kitchen
from orchestrator.kitchen.setting_up import WatchedFolder
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

pytestmark = pytest.mark.browser

Over = Callable[[Gateway], Callable[..., Page]]


def test_two_changes_are_put_together_one_is_taken_back_and_the_other_carried_out(open_over: Over) -> None:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    page = open_over(gateway)("/planning")
    expect(page.get_by_text("No change so far.")).to_be_visible()
    page.get_by_role("link", name="Somebody is away").click()
    page.locator("#away-crew").select_option("early-cook")
    page.locator("#away-from").fill("2026-11-27T06:00")
    page.locator("#away-until").fill("2026-11-27T12:00")
    page.locator("form[action='/crew/away'] button.main").click()
    expect(page.get_by_role("heading", name="1 change so far")).to_be_visible()
    page.get_by_text("More on hand").click()
    page.locator("#stock-recipe").select_option("damson-sorbet")
    page.locator("#stock-quantity").fill("2")
    page.locator("#stock-lot").fill("S9")
    page.get_by_role("button", name="Put with the changes so far").click()
    expect(page.get_by_role("heading", name="2 changes so far")).to_be_visible()
    page.get_by_role("link", name="Take back: Early cook away").click()
    expect(page.get_by_role("heading", name="1 change so far")).to_be_visible()
    assert gateway.state.by_hand.changes == 0
    page.get_by_role("button", name="Carry it out as Manager").click()
    expect(page.locator(".message.done")).to_contain_text("Carried out and kept.")
    expect(page.get_by_text("No change so far.")).to_be_visible()
    assert gateway.state.kitchen is not None
    assert [lot.lot for lot in gateway.state.kitchen.stock if lot.lot == "S9"] == ["S9"]


def test_new_kitchen_is_led_from_a_fault_to_being_taken_over(open_over: Over, tmp_path: Path) -> None:
    folder = tmp_path / "kitchen"
    new_kitchen(folder)
    crew = folder / "crew.yaml"
    right = crew.read_text(encoding="utf-8")
    crew.write_text(right.replace("skills: [make]", "skills: make"), encoding="utf-8")
    gateway = KitchenGateway(State(), at("Wed 07:00"))
    gateway.folder = WatchedFolder(folder)
    page = open_over(gateway)("/", person="")
    expect(page.get_by_role("heading", name="1 to put right in the files")).to_be_visible()
    expect(page.locator(".first-faults code")).to_contain_text("crew.yaml:")
    crew.write_text(right, encoding="utf-8")
    page.get_by_role("button", name="Take this kitchen over").click(timeout=20_000)  # the page looks again by itself
    expect(page.get_by_text("My kitchen is taken over.")).to_be_visible()
    assert gateway.state.kitchen is not None
