"""The alarms page in a real browser: seen, quiet, no longer quiet; figures; a flood; at three sizes."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmStatus
from tests.display.test_desk_pages import troubled
from tests.display.test_flood_page import flooded
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (1920, 1080), (390, 844)]
STOPPED = AlarmId("machine_stopped:churn")
Open = Callable[..., Page]


@pytest.fixture
def open_page(open_over: Callable[[KitchenGateway], Open]) -> Callable[..., Page]:
    """Opens a path over a gateway as the manager."""

    def opened(gateway: KitchenGateway, path: str, width: int = 1280, height: int = 800) -> Page:
        return open_over(gateway)(path, "manager", width, height)

    return opened


def test_alarm_is_made_quiet_with_a_reason_and_taken_off_again_and_marked_as_seen(open_page: Open) -> None:
    gateway = troubled()
    page = open_page(gateway, "/alarms")
    card = page.locator(f'article[data-task="{STOPPED}"]')
    card.get_by_text("Make quiet").first.click()
    card.get_by_label("30 min").check()
    card.get_by_label("Why").fill("the fitter comes at ten")
    card.get_by_role("button", name="Make quiet").click()
    quiet = page.locator(f'#quiet article[data-task="{STOPPED}"]')
    expect(quiet).to_contain_text("the fitter comes at ten")
    expect(page.get_by_role("heading", name="Quiet for now (1)")).to_be_visible()
    assert gateway.state.alarms[STOPPED].status is AlarmStatus.SHELVED
    quiet.get_by_role("button", name="End quiet now").click()
    expect(page.get_by_role("heading", name="Quiet for now (0)")).to_be_visible()
    again = page.locator(f'article[data-task="{STOPPED}"]')
    again.get_by_role("button", name="Mark as seen").click()
    expect(again.get_by_role("button", name="Mark as seen")).to_have_count(0)
    alarm = gateway.state.alarms[STOPPED]
    assert (alarm.status, alarm.acknowledged_by) == (AlarmStatus.ACKNOWLEDGED, "manager")


def test_figures_are_reached_from_the_alarms_page_and_taken_as_csv(open_page: Open) -> None:
    page = open_page(troubled(), "/alarms")
    page.get_by_role("link", name="Alarms in figures").click()
    page.wait_for_url("**/alarms/figures")
    expect(page.locator("svg.hours rect").first).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("link", name="Figures as CSV").click()
    assert download.value.suggested_filename == "alarms-7-days.csv"


def test_flood_folds_all_but_the_first_the_worst_and_the_critical(open_page: Open) -> None:
    gateway = flooded()
    page = open_page(gateway, "/alarms")
    shown = page.locator("article.standing:visible")
    expect(shown).to_have_count(2)  # the freezer, and the churn, which is first and worst of its group
    page.get_by_text("11 more of this group").click()
    expect(shown).to_have_count(len(gateway.state.alarms))


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("path", ["/alarms", "/alarms/figures"])
@pytest.mark.parametrize("kind", [troubled, flooded])
def test_nothing_overflows_and_acts_are_64_high(
    open_page: Open, kind: Callable[[], KitchenGateway], path: str, width: int, height: int
) -> None:
    page = open_page(kind(), path, width, height)
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    boxes = page.evaluate(
        """() => [...document.querySelectorAll('main button, main .shelf summary, main .shelf label.radio')]
        .filter(e => e.checkVisibility()).map(e => [e.innerText, e.getBoundingClientRect()])
        .map(([text, r]) => ({text: text.slice(0, 30), h: r.height, right: r.right}))"""
    )
    assert boxes or path.endswith("figures")
    for box in boxes:
        assert box["h"] >= 64, box
        assert box["right"] <= width, box
    links = page.evaluate(
        """() => [...document.querySelectorAll('main a, main summary')].filter(e => e.checkVisibility())
        .map(e => ({text: e.innerText.slice(0, 30), h: e.getBoundingClientRect().height}))"""
    )
    assert all(link["h"] >= 48 for link in links), links
