"""The way in, in a real browser: a new screen and the manager, a spare, a viewer, a personal code."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from display.views import CoreViews
from orchestrator.core.ids import CrewId
from orchestrator.ports.access import RefusedAct, Role, Wish
from tests.browser.conftest import Served, Windows, until
from tests.browser.full_house import full_house
from tests.browser.test_every_page_axe import OF_COLOUR, RULES, violations
from tests.browser.test_every_page_measured import MEASURES
from tests.fakes.access import PASSPHRASE, Door
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser

DOORS = (("/pair", ""), ("/sign-in", ""), ("/code", "screen"))
"""Pages, and as whom they are seen by others than the manager."""


@pytest.fixture
def house() -> KitchenGateway:
    return full_house()


@pytest.fixture
def door(tmp_path: Path) -> Iterator[Door]:
    made = Door(tmp_path)
    yield made
    made.store.close()


@pytest.fixture
def closed(house: KitchenGateway, door: Door) -> Iterator[Served]:
    served = Served(house, CoreViews(), guard=door.guard)
    yield served
    served.stop()


NewBrowser = Callable[..., Page]


@pytest.fixture
def new_browser(closed: Served, windows: Windows) -> NewBrowser:
    """A browser of its own, with the cookies given."""

    def opened(path: str, width: int = 1280, height: int = 800, **cookies: str) -> Page:
        return windows.open(closed.url + path, width, height, cookies=cookies)

    return opened


def test_new_screen_shows_a_code_and_goes_on_by_itself_once_it_is_approved(new_browser: NewBrowser) -> None:
    screen = new_browser("/station/stove")
    expect(screen.locator("h1")).to_have_text("Pair this screen")
    code = re.sub(r"\s", "", screen.locator("[data-pairing]").inner_text())
    manager = new_browser("/access")
    manager.get_by_label("Passphrase").fill(PASSPHRASE)
    manager.get_by_role("button", name="Sign in as manager").click()
    expect(manager).to_have_url(re.compile("/access$"))
    form = manager.locator("form[action='/access/approve']")
    form.get_by_label("Code on the screen").fill(code)
    form.get_by_label("Name").fill("Stove tablet")
    form.get_by_role("button", name="Let it in").click()
    expect(manager.locator("[data-messages]")).to_contain_text("Stove tablet is let in")
    screen.wait_for_url("**/station/stove", timeout=15_000)
    expect(screen.locator("[data-panel]").first).to_be_visible()
    until(screen, "() => !document.body.classList.contains('off')")
    manager.reload()
    expect(manager.locator("table").first).to_contain_text("Stove tablet")


def test_screen_revoked_shows_its_code_again_by_itself(new_browser: NewBrowser, door: Door) -> None:
    screen = new_browser("/station/stove", screen=door.paired(Role.STATION, "Stove"))
    until(screen, "() => !document.body.classList.contains('off')")
    door.store.revoke(door.store.screens()[0].id, door.now())
    door.seconds += 3
    screen.wait_for_url("**/pair?back=*", timeout=40_000)
    expect(screen.locator("[data-pairing]")).to_be_visible()


def test_spare_of_the_printed_sheet_pairs_a_screen_without_a_manager(new_browser: NewBrowser, door: Door) -> None:
    manager = new_browser("/access", manager=door.signed_in())
    form = manager.locator("form[action='/access/spares']")
    form.get_by_label("Name").fill("Spare")
    form.get_by_role("button", name="Make the sheet").click()
    codes = manager.locator(".spare-code").all_inner_texts()
    assert len(codes) == 2
    screen = new_browser("/station/stove", 390, 844)
    screen.get_by_text("Use a spare").click()
    screen.get_by_label("Code from the sheet").fill(codes[0].lower())
    screen.get_by_role("button", name="Pair with this code").click()
    screen.wait_for_url("**/station/stove")
    manager.goto(manager.url.replace("/spares", ""))
    row = manager.locator("tr", has_text="Spare 1").last
    expect(row).not_to_contain_text("not yet")


def test_viewer_is_shown_no_buttons_and_is_refused_what_it_sends(
    new_browser: NewBrowser, door: Door, house: KitchenGateway
) -> None:
    page = new_browser("/station/stove", screen=door.paired(Role.VIEWER, "Window"), person="early-cook")
    assert page.locator("form[action='/acts/finish']").count() > 0
    assert [form for form in page.locator("form[action^='/acts/']").all() if form.is_visible()] == []
    before = house.state.seq
    token = page.locator("body").get_attribute("data-form-token")
    sent = page.request.post(
        page.url.replace("/station/stove", "/acts/finish"),
        form={"task": "C1.cook", "form_token": token or ""},
        headers={"Accept": "application/json"},
    )
    assert (sent.status, sent.json()["outcome"]) == (403, "refused")
    assert house.state.seq == before
    assert [(one.reason, one.what) for one in door.store.refused()] == [("role", "POST /acts/finish")]


def test_sign_off_asks_for_the_code_in_place_and_takes_it(
    new_browser: NewBrowser, door: Door, house: KitchenGateway
) -> None:
    door.store.set_code(CrewId("manager"), "470816", door.now())
    page = new_browser("/lots", screen=door.paired(Role.STATION), person="manager")
    form = page.locator("form[action='/acts/lot']:has([value=release])").first
    form.locator("[name=reason]").fill("weighed again, nothing wrong")
    chosen = form.locator("[name=decision][value=release]")
    if chosen.get_attribute("type") == "radio":
        chosen.check()
    form.get_by_role("button").first.click()
    asked = page.locator("[data-messages] form.answer")
    expect(page.locator("[data-messages]")).to_contain_text("needs the personal code of")
    asked.get_by_label("Personal code").fill("111112")
    asked.get_by_role("button", name="Sign").click()
    expect(page.locator("[data-messages]")).to_contain_text("not the personal code", timeout=30_000)
    before = house.state.seq
    asked.get_by_label("Personal code").fill("470816")
    asked.get_by_role("button", name="Sign").click()
    # A code is looked at slowly on purpose, one at a time.
    expect(page.locator("[data-messages] .message.done")).to_be_visible(timeout=30_000)
    assert house.state.seq > before


def test_taps_of_a_paired_screen_carry_its_mark_from_streamed_panels_too(
    new_browser: NewBrowser, door: Door, house: KitchenGateway
) -> None:
    page = new_browser("/alarms", screen=door.paired(Role.STATION), person="early-cook")
    until(page, "() => !document.body.classList.contains('off')")
    # Panels come by the stream, without a mark; so does a form that no script of ours sends.
    until(page, "() => !document.querySelector('[data-panel] form[action=\"/acts/seen\"] [name=form_token]')")
    before = house.state.seq
    page.locator("form[action='/acts/seen'] button").first.click()
    expect(page.locator("[data-messages] .message.done")).to_be_visible()
    assert house.state.seq > before
    assert door.reasons() == []


@pytest.mark.parametrize(("language", "width"), [("en", 1280), ("es", 390)])
def test_pages_of_the_door_can_be_read_and_hit_by_everybody(
    new_browser: NewBrowser, door: Door, language: str, width: int
) -> None:
    door.paired(Role.VIEWER, "Window")
    door.store.make_spares([Wish("Spare", "Stove", Role.STATION)], door.now())
    door.store.set_code(CrewId("manager"), "470816", door.now())
    door.store.note(RefusedAct(door.now(), "192.0.2.7", "Window", "POST /acts/finish", "role", 3))
    broken = {}
    for path, kind in [*DOORS, ("/access", "manager"), ("/code", "manager")]:
        secret = {"manager": door.signed_in, "screen": lambda: door.paired(Role.STATION), "": str}[kind]()
        page = new_browser(path, width, 844, language=language, **({kind: secret} if kind else {}))
        assert page.locator("html").get_attribute("lang") == language
        assert page.url.endswith(path)
        said = violations(page, RULES)
        page.emulate_media(color_scheme="dark")
        said += violations(page, OF_COLOUR)
        targets = page.evaluate(f"{MEASURES}; targets()")
        said += [f"{one['height']:.0f} px: {one['what']}" for one in targets if one["height"] < 47.5]
        said += [f"{one['height']:.0f} px: {one['what']}" for one in targets if one["act"] and one["height"] < 63.5]
        wide = page.evaluate("() => document.documentElement.scrollWidth")
        said += [f"{wide} px wide"] if wide > width else []
        if said:
            broken[path, kind] = said
    assert broken == {}


def test_sign_off_is_not_kept_for_later_once_codes_are_given_out(new_browser: NewBrowser, door: Door) -> None:
    asked = """async (fields) => {
      const { needsLink } = await import('/static/js/queue.js');
      const data = new FormData();
      for (const [name, value] of Object.entries(fields)) data.set(name, value);
      return needsLink(data);
    }"""
    told = {}
    for given in (False, True):
        if given:
            door.store.set_code(CrewId("manager"), "470816", door.now())
            door.seconds += 3
        page = new_browser("/station/stove", screen=door.paired(Role.STATION), person="manager")
        fields = ({"task": "C1.cook"}, {"task": "C1.cook", "override_reason": "no probe"}, {"personal_code": "470816"})
        told[given] = [page.evaluate(asked, one) for one in fields]
    assert told == {False: [False, False, True], True: [False, True, True]}
