"""What a counter wants and who is there, in a real browser: from the form over the preview to the plan that follows."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.ids import CrewId
from orchestrator.core.models import Kitchen, Plan
from tests.browser.conftest import Open
from tests.browser.test_recipe_screens import SIZES, PlannedKitchen, planned
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser


def house() -> PlannedKitchen:
    """The example kitchen on its first morning, half an hour after the early shift has begun."""
    state = planned()
    assert state.kitchen is not None
    return PlannedKitchen(state, state.kitchen.planning_start + timedelta(minutes=30))


def kitchen_of(gateway: KitchenGateway) -> Kitchen:
    assert gateway.state.kitchen is not None
    return gateway.state.kitchen


def plan_of(gateway: KitchenGateway) -> Plan:
    assert gateway.state.plan is not None
    return gateway.state.plan


def local(gateway: KitchenGateway, day: int, clock: str) -> str:
    """A field's value: so many days after today, on the kitchen's clock."""
    there = gateway.now.astimezone(ZoneInfo(kitchen_of(gateway).time_zone)).date() + timedelta(days=day)
    return f"{there.isoformat()}T{clock}"


def carry_out(page: Page) -> None:
    """The preview has come; the button that carries it out is pressed."""
    expect(page.get_by_role("heading", name="Orders", exact=True)).to_be_visible(timeout=60_000)
    page.locator(".adopt button").click()
    expect(page.get_by_text("Carried out")).to_be_visible()


def hands(plan: Plan, who: str, start: datetime, end: datetime) -> list[str]:
    """What somebody has in hand between two instants."""
    spans = ((task, span) for task in plan.tasks for span in task.spans if who in span.crew)
    return [task.id for task, span in spans if span.start < end and start < span.end]


def test_par_level_and_closing_count_become_an_order_that_the_plan_makes(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = house()
    assert gateway.state.kitchen is not None
    gateway.state = replace(gateway.state, kitchen=gateway.state.kitchen.model_copy(update={"par_levels": ()}))
    page = open_over(gateway)("/demand")
    expect(page.get_by_text("No counter has a par level yet")).to_be_visible()
    page.locator("#pars").get_by_text("Par levels: what is to be there").click()
    page.locator("#par-by").fill("17:00")
    page.locator("#par-par_damson-sorbet").fill("3,5")
    page.locator("#pars button").click()
    carry_out(page)
    page.goto(page.url.split("#")[0])
    count = page.locator("[id^=count-] form").first
    expect(count).to_contain_text("par 3.5 L by 17:00")
    count.locator("#count-count_damson-sorbet").fill("1")
    gateway.now += timedelta(hours=14)
    count.get_by_role("button").click()
    expect(page.locator("main")).to_contain_text("par 3.5 L − left 1 L = 2.5 L missing")
    before = {order.id for order in kitchen_of(gateway).orders}
    carry_out(page)
    (order,) = [order for order in kitchen_of(gateway).orders if order.id not in before]
    outlook = next(one for one in plan_of(gateway).outlooks if one.order == order.id)
    assert (order.lines[0].quantity.value, f"{kitchen_of(gateway).local(order.due):%H:%M}") == (2.5, "17:00")
    pegs = sum(peg.quantity.value for peg in plan_of(gateway).pegs if peg.order == order.id)
    assert pegs == pytest.approx(2.5) if outlook.met else pegs < 2.5
    page.goto(page.url.split("#")[0])
    expect(page.locator("main")).to_contain_text("Last counted: 1 L")


def test_demand_by_the_hour_becomes_hand_overs_on_the_hour(open_over: Callable[[KitchenGateway], Open]) -> None:
    gateway = house()
    page = open_over(gateway)("/demand")
    page.get_by_text("Demand hour by hour").click()
    page.locator("#hours-day").fill(local(gateway, 3, "")[:10])
    page.locator("#hours-product").select_option("damson-sorbet")
    page.locator("#hours-hour_14").fill("1")
    page.locator("#hours-hour_16").fill("0.5")
    page.locator("#hours button").click()
    before = {order.id for order in kitchen_of(gateway).orders}
    carry_out(page)
    orders = [order for order in kitchen_of(gateway).orders if order.id not in before]
    assert [f"{kitchen_of(gateway).local(order.due):%H:%M}" for order in orders] == ["14:00", "16:00"]
    outlooks = {one.order: one for one in plan_of(gateway).outlooks}
    assert [outlooks[order.id].met for order in orders] == [True, True]
    # What nobody has ordered is told with its reason; it follows the plan that was just adopted.
    expect(page.locator(".panel-make-next")).to_contain_text("Churn is free")


def test_who_is_here_is_said_by_one_tap_and_whose_shift_began_without_them_is_shown(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = house()
    page = open_over(gateway)("/crew", person="early-cook")
    missed = page.locator(".panel-crew article", has_text="Early cook")
    expect(missed).to_contain_text("shift since 06:00")
    page.get_by_role("button", name="I am here").click()
    expect(page.get_by_role("button", name="I am leaving")).to_be_visible()
    expect(missed).to_have_count(0)
    assert gateway.state.attendance.since(CrewId("early-cook"), gateway.now) == gateway.now
    page.get_by_role("button", name="I am leaving").click()
    expect(page.get_by_role("button", name="I am here")).to_be_visible()


def test_absence_of_today_is_shown_before_it_is_planned_without_them(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = house()
    gateway.now += timedelta(days=1)  # on the first day the plan asks nobody's hands
    today = kitchen_of(gateway).planning_start + timedelta(hours=44)
    member = next(m for m in kitchen_of(gateway).crew if hands(plan_of(gateway), m.id, gateway.now, today))
    page = open_over(gateway)("/crew", person="late-cook")
    page.locator(f"tr#{member.id}").get_by_role("button", name="Away today").click()
    page.wait_for_url("**/changes?*")
    expect(page.locator("main")).to_contain_text(f"{member.name} away")
    carry_out(page)
    assert hands(plan_of(gateway), member.id, gateway.now, today) == []
    after = next(m for m in kitchen_of(gateway).crew if m.id == member.id)
    assert all(shift.start >= today for shift in after.shifts if shift.end > gateway.now)
    expect(page.locator(f"tr#{member.id}")).to_contain_text("Fri")
    expect(page.locator(f"tr#{member.id} button")).to_have_count(0)


def test_who_does_not_come_can_be_planned_without_from_where_they_are_missed(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = house()
    page = open_over(gateway)("/crew")
    page.locator(".panel-crew article", has_text="Early cook").get_by_role("link").click()
    page.wait_for_url("**/changes?*")
    expect(page.locator("main")).to_contain_text("Early cook away")
    carry_out(page)
    expect(page.locator(".panel-crew article")).to_have_count(0)


def test_shift_more_is_there_for_the_plan(open_over: Callable[[KitchenGateway], Open]) -> None:
    gateway = house()
    page = open_over(gateway)("/crew")
    form = page.locator('form[action="/crew/extra"]')
    form.get_by_label("Who").select_option("counter-hand")
    form.get_by_label("From").fill(local(gateway, 1, "06:00"))
    form.get_by_label("Until").fill(local(gateway, 1, "05:00"))
    form.get_by_role("button").click()
    expect(page.locator("#extra-fault-until")).to_contain_text("end before it begins")
    form.get_by_label("Until").fill(local(gateway, 1, "12:00"))
    form.get_by_role("button").click()
    carry_out(page)
    expect(page.locator("tr#counter-hand")).to_contain_text("Thu 06:00–12:00")
    member = next(one for one in kitchen_of(gateway).crew if one.id == "counter-hand")
    assert any(f"{kitchen_of(gateway).local(shift.start):%a %H:%M}" == "Thu 06:00" for shift in member.shifts)


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("path", ["/demand", "/crew"])
def test_demand_and_crew_fit_their_screen_and_taps_are_48_px_high(
    open_over: Callable[[KitchenGateway], Open], path: str, width: int, height: int
) -> None:
    page = open_over(house())(path, width=width, height=height)
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    targets = page.locator("main button:visible, main select:visible, main input:visible, main summary:visible")
    assert targets.count() > 5
    for number in range(targets.count()):
        box = targets.nth(number).bounding_box()
        assert box is not None
        assert box["height"] >= 48


def test_hours_of_every_week_are_entered_once_and_the_plan_works_by_them(
    open_over: Callable[[KitchenGateway], Open],
) -> None:
    gateway = house()
    page = open_over(gateway)("/crew")
    page.locator("#early-cook").get_by_role("link", name="Hours of every week").click()
    expect(page.get_by_label("From this day on")).to_have_value(local(gateway, 1, "")[:10])
    first = page.get_by_role("group", name="Hours 1")
    expect(first.get_by_label("From", exact=True)).to_have_value("06:00")
    first.get_by_label("Until", exact=True).fill("05:00")
    page.get_by_role("button", name="Show what it would come to").click()
    expect(page.get_by_text("lasts 23 h")).to_be_visible()
    first.get_by_label("From", exact=True).fill("07:00")  # what was typed stands there still
    expect(first.get_by_label("Until", exact=True)).to_have_value("05:00")
    first.get_by_label("Until", exact=True).fill("15:00")
    page.get_by_role("button", name="Show what it would come to").click()
    carry_out(page)
    cook = next(member for member in kitchen_of(gateway).crew if member.id == "early-cook")
    assert cook.weekly[0].start == "07:00"
    start = kitchen_of(gateway).planning_start
    tomorrow = datetime.fromisoformat(local(gateway, 1, "00:00")).replace(tzinfo=start.tzinfo)
    assert hands(plan_of(gateway), "early-cook", tomorrow, tomorrow + timedelta(hours=7)) == []
    begins = {kitchen_of(gateway).local(s.start).strftime("%a %H:%M") for s in cook.shifts if s.start > tomorrow}
    assert begins == {"Wed 07:00", "Thu 07:00", "Fri 07:00", "Sat 07:00", "Sun 06:00"}  # Sunday has a row of its own
