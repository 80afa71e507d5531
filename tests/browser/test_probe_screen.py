"""Checking and assigning a probe in a real browser, at three sizes."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Page, expect

from display.views import CoreViews
from tests.browser.conftest import Served, Windows
from tests.display.probe_scene import FRIDGE, HOB, ProbeGateway, gateway

pytestmark = pytest.mark.browser
SIZES = [(1280, 800), (1920, 1080), (390, 844)]


@pytest.fixture
def kitchen() -> Iterator[tuple[ProbeGateway, Served]]:
    found = gateway()
    served = Served(found, CoreViews())
    yield found, served
    served.stop()


Open = Callable[..., Page]


@pytest.fixture
def opened(kitchen: tuple[ProbeGateway, Served], windows: Windows) -> Open:
    """Opens a path as the manager."""

    def at_size(path: str, width: int = 1280, height: int = 800, *, scripts: bool = True) -> Page:
        return windows.open(kitchen[1].url + path, width, height, scripts=scripts, cookies={"person": "manager"})

    return at_size


@pytest.mark.parametrize("scripts", [True, False])
def test_probe_is_checked_corrected_and_put_into_a_step(
    kitchen: tuple[ProbeGateway, Served], opened: Open, scripts: bool
) -> None:
    page = opened(f"/probe/{HOB}", scripts=scripts)
    page.get_by_label("Ice water, stirred").check()
    page.get_by_label("The probe shows").fill("1.2")
    page.get_by_role("button", name="Enter the check").click()
    expect(page.get_by_text("Check entered, and failed: off by 1.2 °C")).to_be_visible()
    page.get_by_role("button", name="Add −1.2").click()  # it is there without loading the page again
    expect(page.get_by_text("Offset set from now on")).to_be_visible()
    page.goto(page.url)
    page.get_by_label("Into the food of a step").select_option("equipment:ice-bath")
    page.get_by_role("button", name="Put it there").click()
    expect(page.get_by_text("Put there")).to_be_visible()
    state = kitchen[0].state
    assert state.kitchen is not None
    assert state.probes.checks[HOB][-1].shown_c == 1.2
    assert state.probes.offset_at(HOB, kitchen[0].now) == -1.2
    assert next(p.equipment for p in state.kitchen.probes if p.id == HOB) == "ice-bath"


@pytest.mark.parametrize("probe", [HOB, FRIDGE])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_probe_page_fits_its_screen_and_its_buttons_a_wet_hand(
    opened: Open, probe: str, width: int, height: int
) -> None:
    page = opened(f"/probe/{probe}", width, height)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        "() => [...document.querySelectorAll('main.probe :is(button, a, select, summary, label.radio)')]"
        ".map(e => [e.textContent.trim().slice(0, 30), e.getBoundingClientRect().height])"
        ".filter(([, h]) => h > 0 && h < 48)"
    )
    assert small == []
    acts = page.evaluate(
        "() => [...document.querySelectorAll('main.probe form button')].map(e => e.getBoundingClientRect().height)"
    )
    assert min(acts) >= 64
