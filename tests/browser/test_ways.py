"""Language, clock and amounts are changed on one page with one tap each, and live panels and clock follow."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.models.tongue import Ways
from orchestrator.gateway.door import Gateway
from tests.browser.conftest import Open
from tests.display.test_desk_pages import troubled
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser


def chosen(gateway: KitchenGateway, person: str) -> Ways:
    assert gateway.state.kitchen is not None
    return next(member.ways for member in gateway.state.kitchen.crew if member.id == person)


def streamed(page: Page) -> None:
    """Until the page's panels have come by the stream at least once."""
    page.wait_for_selector(".is-linked:not([hidden])")
    page.wait_for_timeout(1500)


def test_one_tap_changes_the_language_of_a_person_at_every_screen(open_over: Callable[[Gateway], Open]) -> None:
    gateway = troubled()
    open_page = open_over(gateway)
    page = open_page("/person", "early-cook")
    expect(page.locator("html")).to_have_attribute("lang", "en")
    page.get_by_role("button", name="Español").click()
    expect(page.locator("html")).to_have_attribute("lang", "es")
    expect(page.get_by_role("button", name="Español")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="12 h").click()
    assert chosen(gateway, "early-cook") == Ways(language="es", clock="12")
    station = open_page("/station/stove", "early-cook")
    streamed(station)
    expect(station.locator("[data-live-clock]").first).to_contain_text("a.\u00a0m.")
    expect(station.locator("body")).to_contain_text("Avisar problema")
    expect(station.locator("body")).not_to_contain_text("Report problem")
    other = open_page("/station/stove", "late-cook")
    expect(other.locator("html")).to_have_attribute("lang", "en")


def test_screen_without_a_person_keeps_its_own_choice(open_over: Callable[[Gateway], Open]) -> None:
    gateway = troubled()
    open_page = open_over(gateway)
    page = open_page("/person", "")
    page.get_by_role("button", name="Español").click()
    page.get_by_role("button", name="lb, qt").click()
    assert {cookie["name"]: cookie["value"] for cookie in page.context.cookies()}.items() >= {
        ("language", "es"),
        ("amounts", "us"),
    }
    assert gateway.state.kitchen is not None
    assert all(member.ways == Ways() for member in gateway.state.kitchen.crew)


def test_buttons_of_the_choice_are_large_and_apart(open_over: Callable[[Gateway], Open]) -> None:
    page = open_over(troubled())("/person", "early-cook", 390, 844)
    boxes = [one.bounding_box() for one in page.locator(".ways button").all()]
    assert len(boxes) == 6
    assert all(box is not None and box["height"] >= 64 for box in boxes)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_kitchen_of_fahrenheit_shows_no_celsius(open_over: Callable[[Gateway], Open]) -> None:
    gateway = troubled()
    assert gateway.state.kitchen is not None
    gateway.state = replace(gateway.state, kitchen=gateway.state.kitchen.model_copy(update={"temperature_unit": "F"}))
    open_page = open_over(gateway)
    for path in ("/station/stove", "/alarms", "/machines", "/recipes/basil-custard"):
        page = open_page(path)
        streamed(page)
        assert "°C" not in page.inner_text("body"), path
    assert "°F" in open_page("/alarms").inner_text("body")
