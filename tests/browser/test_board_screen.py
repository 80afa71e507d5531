"""The board's ways in a real browser: zoom, groupings, details, keys, print; with a script and without."""

import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pypdfium2
import pytest
from playwright.sync_api import Page, expect

from display.views import CoreViews
from orchestrator.core.state import State, TaskStatus
from orchestrator.planner.plan import make_plan
from tests.benchmarks.kitchens import larger_request
from tests.browser.conftest import Served, Windows
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

pytestmark = pytest.mark.browser

A4_LANDSCAPE_PT = (841.89, 595.28)
"""297 by 210 mm (ISO 216) in points of 1/72 inch."""
LEAST_TYPE_PT = 6.0
"""Six points, the least that prints are commonly made of; from memory, a usual figure of the printing trade."""

Open = Callable[..., Page]


@pytest.fixture(scope="module")
def small() -> Iterator[Served]:
    """Thursday, 08:42: two bases stand in the fridge."""
    served = Served(KitchenGateway(base_ageing(), at("Thu 08:42")), CoreViews())
    yield served
    served.stop()


@pytest.fixture(scope="module")
def large() -> Iterator[Served]:
    """The example with more orders: about twenty batches."""
    request = larger_request()
    plan = make_plan(request, effort="repair", seconds=4.0).plan
    assert plan is not None
    assert len(plan.batches) >= 18
    state = State(seq=1, kitchen=request.kitchen, plan=plan, revision=1, adopted_at=request.now)
    served = Served(KitchenGateway(state, request.now + timedelta(hours=8)), CoreViews())
    yield served
    served.stop()


@pytest.fixture
def opened(windows: Windows) -> Open:
    """Opens a path at a server as the manager."""

    def at_path(served: Served, path: str, width: int = 1280, height: int = 800, *, scripts: bool = True) -> Page:
        return windows.open(served.url + path, width, height, scripts=scripts, cookies={"person": "manager"})

    return at_path


def place(page: Page, task: str) -> float:
    box = page.locator(f'.plan svg a[href="/task/{task}"] .box').first.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2


def test_board_is_zoomed_and_moved_in_time_without_a_script(opened: Open, small: Served) -> None:
    page = opened(small, "/board", scripts=False)
    page.get_by_role("link", name="One hour").click()
    expect(page.locator(".all-days")).to_contain_text(":")
    page.get_by_role("link", name="Later").click()
    page.get_by_role("link", name="Batch").click()
    assert "span=hour" in page.url
    assert "by=batch" in page.url
    page.get_by_role("link", name="Now").click()
    assert "from=" not in page.url
    expect(page.locator("#row-batch-B1 a.piece")).to_have_count(1)  # the churn of 09:00
    page.locator("#row-batch-B1 a.piece").click()
    page.wait_for_url("**/task/B1.churn")  # a plain link


def test_zoom_keeps_the_place_of_the_block_with_the_focus(opened: Open, small: Served) -> None:
    page = opened(small, "/board")
    page.locator('a.piece[href="/task/B1.churn"]').focus()
    before = place(page, "B1.churn")
    page.get_by_role("link", name="Half a day").click()
    page.wait_for_url("**span=half**")
    assert place(page, "B1.churn") == pytest.approx(before, abs=4)  # a minute of 12 h is 1.6 px
    page.locator('a.piece[href="/task/B1.churn"]').focus()
    before = place(page, "B1.churn")
    page.get_by_role("link", name="All days").click()
    page.wait_for_url("**/board")
    expect(page.locator("[data-span=all]")).to_have_attribute("aria-current", "true")


def test_double_click_zooms_in_under_the_pointer(opened: Open, small: Served) -> None:
    page = opened(small, "/board?day=2026-11-26")
    row = page.locator("#row-hob-1 .plot").bounding_box()
    assert row is not None
    x = row["x"] + row["width"] * 0.75  # 18:00
    page.mouse.dblclick(x, row["y"] + 5)
    page.wait_for_url("**span=half**")
    # 18:00 stays at three quarters of twelve hours, which then begin at 09:00.
    begins = datetime.fromisoformat(parse_qs(urlsplit(page.url).query)["from"][0])
    assert abs(begins - datetime(2026, 11, 26, 9)) <= timedelta(minutes=3)  # noqa: DTZ001 - two pixels of a day


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1920, 1080), (1280, 520)])
def test_details_open_below_what_was_clicked_and_esc_closes_them(
    opened: Open, small: Served, width: int, height: int
) -> None:
    page = opened(small, "/board?by=batch", width, height)
    block = page.locator('a.piece[href="/task/S1.churn"]')
    block.locator(".box").click()
    detail = page.locator(".board-detail")
    expect(detail).to_contain_text("Open the task")
    page.wait_for_timeout(200)
    box, panel = block.locator(".box").bounding_box(), detail.bounding_box()
    assert box is not None
    assert panel is not None
    assert box["y"] + box["height"] <= panel["y"]
    assert box["y"] >= 0
    assert "open=S1.churn" in page.url
    page.keyboard.press("Escape")
    expect(detail).to_be_hidden()
    assert "open=" not in page.url
    assert page.evaluate("document.activeElement.getAttribute('href')") == "/task/S1.churn"


def test_details_follow_what_happens(opened: Open, small: Served) -> None:
    page = opened(small, "/board?open=B1.churn")
    expect(page.locator(".board-detail")).to_contain_text("waiting")
    gateway = small.app.gateway
    assert isinstance(gateway, KitchenGateway)
    before = gateway.state
    record = replace(before.record("B1.churn"), started_at=at("Thu 08:42"), status=TaskStatus.IN_HAND)  # type: ignore[arg-type]
    gateway.state = replace(before, tasks={**before.tasks, "B1.churn": record})  # type: ignore[dict-item]
    gateway.changed()
    expect(page.locator(".board-detail")).to_contain_text("in hand")
    gateway.state = before
    gateway.changed()


def test_tab_goes_through_a_row_from_left_to_right_and_enter_shows_details(opened: Open, small: Served) -> None:
    page = opened(small, "/board?by=batch")
    page.locator('a.piece[href="/task/S1.simmer"]').focus()
    here = "document.activeElement.getAttribute('href')"
    seen = []
    for _ in range(4):
        page.keyboard.press("Tab")
        seen.append(page.evaluate(here))
    assert seen == ["/task/S1.chill", "/task/S1.age", "/task/churn.clean.S1", "/task/S1.churn"]
    page.keyboard.press("ArrowLeft")
    assert page.evaluate(here) == "/task/churn.clean.S1"
    page.keyboard.press("Enter")
    expect(page.locator(".board-detail h2")).to_contain_text("Full clean")
    assert "/board" in page.url


@pytest.mark.parametrize("path", ["/board", "/board?by=batch", "/board?by=order", "/board?by=crew&span=half"])
def test_board_of_twenty_batches_prints_on_one_sheet_with_title_revision_and_time(
    opened: Open, large: Served, path: str
) -> None:
    page = opened(large, path)
    document = pypdfium2.PdfDocument(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx(A4_LANDSCAPE_PT, abs=1)
    text = " ".join(document[0].get_textpage().get_text_range().split())
    for words in ("Board · Example kitchen", "Plan 1, since", "printed Wed 25 Nov 14:00", "M1"):
        assert words in text, words
    page.emulate_media(media="print")
    least = page.evaluate(
        """() => Math.min(...[...document.querySelectorAll('.board-wide text, .board-wide h2, .board-wide p')]
        .filter(e => e.checkVisibility()).map(e => parseFloat(getComputedStyle(e).fontSize)))"""
    )
    assert least * 0.75 >= LEAST_TYPE_PT  # 96 px are 72 points (CSS Values 3)


@pytest.mark.parametrize("by", ["place", "batch", "order", "crew"])
def test_board_of_twenty_batches_stays_on_the_screen_and_its_labels_in_the_plot(
    opened: Open, large: Served, by: str
) -> None:
    page = opened(large, f"/board?by={by}")
    assert page.evaluate("document.documentElement.scrollWidth") == 1280
    beyond = page.evaluate(
        """() => [...document.querySelectorAll('.plan .plot text.label')]
        .map(e => [e.textContent, e.getBoundingClientRect().right]).filter(([, right]) => right > 1282)"""
    )
    assert beyond == []


def test_board_of_twenty_batches_weighs_less_than_150_kilobytes_with_all_that_it_loads(
    opened: Open, large: Served
) -> None:
    page = opened(large, "/board")
    page.wait_for_load_state("load")
    # As it is sent, packed. The stream never ends, so it is not there.
    weight = page.evaluate(
        """() => [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
        .reduce((sum, entry) => sum + entry.encodedBodySize, 0)"""
    )
    assert 20_000 < weight <= 150_000
