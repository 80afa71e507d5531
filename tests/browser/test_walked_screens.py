"""Where a cook stopped: amounts out of sight, a change laid at somebody's door, a phone's header, no way back."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import OpenAt, Served, ready
from tests.fakes import canned

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_amounts_without_room_in_the_column_are_ticked_on_a_sheet_over_it(
    open_at: OpenAt, served: Served, width: int, height: int
) -> None:
    page = ready(open_at(width=width, height=height))
    job = page.locator(".job").first
    hidden = job.locator(".amount.cropped").first
    name = hidden.get_attribute("data-key")
    job.locator(".more-amounts").click()
    sheet = page.locator("#choose-amounts")
    expect(sheet.locator(".amount")).to_have_count(len(canned.COOK.amounts))
    for label in sheet.locator(".amount").all():
        box = label.bounding_box()
        assert box is not None
        assert box["height"] >= 64
    sheet.locator(f".amount[data-key='{name}']").click()
    sheet.get_by_role("button", name="Close").click()
    expect(job.locator(f".amount[data-key='{name}'] input")).to_be_checked()
    expect(sheet.locator(".amount")).to_have_count(0)
    job.locator(".more-amounts").click()
    expect(sheet.locator(f".amount[data-key='{name}'] input")).to_be_checked()


def test_step_that_moves_away_by_itself_is_not_laid_at_the_door_of_who_acted_on_it_before(
    open_at: OpenAt, served: Served
) -> None:
    started = canned.LAST_ACT.model_copy(update={"what": "started", "title": canned.COOK.title, "person": "Late cook"})
    served.gateway.show(canned.busy_station(last_act=started))
    page = ready(open_at())
    served.gateway.show(canned.busy_station(in_hand=(canned.BAKE,), last_act=started))
    sentence = page.locator(".job .instead").first
    expect(sentence).to_have_text(f"{canned.COOK.title} has changed here just now. Look, then tap.")


def test_seated_page_on_a_phone_keeps_its_ways_folded_on_one_line(open_at: OpenAt) -> None:
    page = open_at("/alarms", width=390, height=844)
    header = page.locator("header.top").bounding_box()
    assert header is not None
    assert header["height"] <= 112
    fold = page.locator(".pages-fold summary")
    box = fold.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    expect(fold).to_contain_text("Alarms")
    fold.click()
    ways = page.locator(".pages-fold").get_by_role("link")
    expect(ways).to_have_count(9)
    for way in ways.all():
        at = way.bounding_box()
        assert at is not None
        assert at["height"] >= 48
    page.locator(".pages-fold").get_by_role("link", name="Stations").click()
    assert page.url.endswith("/stations")


def test_alarms_seen_from_a_station_lead_back_to_it_and_who_is_here_can_be_left_without_a_choice(
    open_at: OpenAt, served: Served
) -> None:
    served.gateway.show(canned.busy_station(alarms=(canned.WARM_FREEZER, canned.LATE_ZEST)))
    page = ready(open_at())
    page.get_by_role("link", name="and 1 more").click()
    page.get_by_role("link", name="Back to Stove and churn").click()
    page.locator("header .person").click()
    page.get_by_role("link", name="Back", exact=True).click()
    assert page.url == f"{served.url}/station/stove"


def test_problem_of_a_machine_leads_on_to_where_it_is_stopped_and_stays_until_it_is_read(open_at: OpenAt) -> None:
    page = ready(open_at())
    page.locator(".job [data-choose=problem]").first.click()
    page.get_by_role("button", name="Machine", exact=True).click()
    message = page.locator(".message.done")
    expect(message).to_contain_text("If it cannot go on, stop it")
    page.wait_for_timeout(5000)
    message.get_by_role("link", name="Details").click()
    assert page.url.endswith("/machines")
