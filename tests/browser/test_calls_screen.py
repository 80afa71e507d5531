"""Who is called, in a real browser: the line before the last leave moves no button, a test call is sent and told."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.call_events import CallDelivered
from orchestrator.core.models.calls import CallFault, CallPlan
from tests.fakes.call_states import PEOPLE, calling_kitchen, tried, warm_freezer, without_address
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at

pytestmark = pytest.mark.browser

SIZES = [(1280, 800), (1920, 1080), (390, 844)]
Open = Callable[..., tuple[Page, KitchenGateway]]


@pytest.fixture
def open_calls(open_over: Callable[[KitchenGateway], Callable[..., Page]]) -> Open:
    """Opens a path of a kitchen as its manager."""

    def opened(
        path: str, gateway: KitchenGateway, width: int = 1280, height: int = 800, *, scripts: bool = True
    ) -> tuple[Page, KitchenGateway]:
        return open_over(gateway)(path, "manager", width, height, scripts=scripts), gateway

    return opened


def evening(plan: CallPlan = PEOPLE) -> KitchenGateway:
    return calling_kitchen(at("Wed 19:59"), plan)


def well_known() -> KitchenGateway:
    """One who is reached, one who is not, one without an address, and an alarm that calls."""
    kitchen = calling_kitchen(at("Thu 02:00"))
    tried(kitchen, "manager")
    tried(kitchen, "role:Owner", CallFault.REFUSED, 401)
    without_address(kitchen, "CALL_LATE_COOK")
    warm_freezer(kitchen)
    return kitchen


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_line_comes_before_the_last_leave_goes_again_and_moves_no_button(
    open_calls: Open, width: int, height: int
) -> None:
    page, kitchen = open_calls("/station/stove", evening(CallPlan()), width, height)
    button = page.get_by_role("button", name="Start now")
    before = button.bounding_box()
    assert before is not None
    line = page.locator(".tonight")
    expect(line).to_have_count(0)
    kitchen.now = at("Wed 20:00")
    kitchen.changed()
    expect(line).to_contain_text("Nobody would be called tonight: nobody is on the list.")
    expect(line).to_contain_text("Fridge: C1, S1 (10 L)")
    after = button.bounding_box()
    assert after is not None
    assert after["y"] == before["y"]  # beside it the figure counts down, which has its own width
    shown = line.bounding_box()
    assert shown is not None
    assert shown["height"] >= 48
    if width > 700:  # on a phone the page scrolls
        assert shown["y"] + shown["height"] <= height
        rows = page.locator(".horizon [data-rows] > :not([hidden])").last.bounding_box()
        foot = page.locator(".foot").bounding_box()
        assert rows is not None
        assert foot is not None
        assert rows["y"] + rows["height"] <= foot["y"]
    kitchen.now = at("Thu 06:00")
    kitchen.changed()
    expect(line).to_have_count(0)
    assert page.locator(".panel-tonight").bounding_box() is None  # it takes no room


def test_line_leads_to_the_list(open_calls: Open) -> None:
    kitchen = evening()
    kitchen.now = at("Wed 20:30")
    page, _ = open_calls("/station/stove", kitchen)
    page.locator(".tonight").click()
    page.wait_for_url("**/calls")
    expect(page.get_by_role("heading", name="1. Manager")).to_be_visible()


@pytest.mark.parametrize("scripts", [True, False])
def test_manager_sends_a_test_call_and_is_told_its_result(open_calls: Open, scripts: bool) -> None:
    page, kitchen = open_calls("/calls", evening(), scripts=scripts)
    card = page.locator('[data-task="role:Owner"]')
    card.get_by_role("button", name="Send a test call").click()
    expect(card).to_contain_text("A test call is on its way.")
    (call,) = kitchen.state.calls.on_their_way()
    assert (call.to, call.person) == ("role:Owner", "manager")
    kitchen.happen(CallDelivered(call=call.seq, at=kitchen.now, reached=("Phone",)))
    if not scripts:
        page.reload()
    expect(card).to_contain_text("Test 19:59: reached by Phone 19:59")
    expect(card).to_contain_text("Phone: Reaches")
    expect(page.locator(".tonight")).to_contain_text("Called tonight: Owner.")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_overflows_and_targets_are_large_enough(open_calls: Open, width: int, height: int) -> None:
    page, _ = open_calls("/calls", well_known(), width, height)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    boxes = page.evaluate(
        """() => [...document.querySelectorAll('button, a')].filter(e => e.checkVisibility())
        .map(e => [e, e.getBoundingClientRect()])
        .map(([e, r]) => ({text: e.innerText.slice(0, 30), button: e.tagName === 'BUTTON', h: r.height, w: r.width}))"""
    )
    assert len([box for box in boxes if box["button"]]) == 3
    for box in boxes:
        assert box["h"] >= (64 if box["button"] else 48), box
        assert box["w"] >= 48, box
