"""From the start page to a balanced mix in a real browser, at three sizes, with and without scripts."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from display.views import CoreViews
from orchestrator.core.state import State
from orchestrator.kitchen.read import read_kitchen
from tests.browser.conftest import Served, Windows
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser
EXAMPLE = Path(__file__).parents[2] / "config"
SIZES = [(1280, 800), (1920, 1080), (390, 844)]
Open = Callable[..., Page]


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    state = State(seq=1, kitchen=read_kitchen(EXAMPLE))
    found = Served(KitchenGateway(state, datetime(2026, 11, 25, 9, 0, tzinfo=UTC)), CoreViews())
    yield found
    found.stop()


@pytest.fixture
def opened(served: Served, windows: Windows) -> Open:
    """Opens a path."""

    def at_size(path: str, width: int = 1280, height: int = 800, *, scripts: bool = True) -> Page:
        return windows.open(served.url + path, width, height, scripts=scripts)

    return at_size


@pytest.mark.parametrize("scripts", [True, False])
def test_mix_is_found_from_the_start_and_balanced_as_a_proposal(opened: Open, scripts: bool) -> None:
    page = opened("/", scripts=scripts)
    page.get_by_role("link", name="Mixes").click()
    page.get_by_role("link", name="Toasted hazelnut custard").click()
    expect(page.get_by_role("img", name="share of the water that is ice")).to_be_visible()
    page.get_by_role("link", name="Balance").click()
    page.get_by_role("link", name="Write in the usual ranges").click()
    expect(page.locator("#least_milk_fat")).to_have_value("10")
    page.locator("#add1").select_option("Skim milk powder")
    page.get_by_role("button", name="Propose").click()
    expect(page.get_by_role("heading", name="Proposal")).to_be_visible()
    row = page.get_by_role("row").filter(has=page.get_by_role("rowheader", name="Skim milk powder"))
    expect(row).to_contain_text("+")
    expect(page.locator("#most_milk_fat")).to_have_value("16")  # what was asked for is still there


@pytest.mark.parametrize("path", ["/mix", "/mix/basil-custard", "/mix/custard-base/balance?usual=yes"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_pages_fit_their_width_and_every_target_is_large_enough(
    opened: Open, path: str, width: int, height: int
) -> None:
    page = opened(path, width, height)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    sizes = page.evaluate(
        """() => [...document
            .querySelectorAll('main :is(a, button, select, input:not([type=hidden], [type=checkbox]))')]
          .map(e => [e.textContent.trim() || e.name, e.getBoundingClientRect().height, e.matches('button')])"""
    )
    assert sizes
    assert [name for name, tall, _ in sizes if tall < 47.5] == []  # targets at least 48 px, the house's measure
    assert [name for name, tall, acts in sizes if acts and tall < 63.5] == []
