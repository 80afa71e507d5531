"""The station screen cut off: the server is really gone, the page is loaded again, and it comes back on its port."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from orchestrator.core.commands import ExtendTask, FinishTask, FinishTray, StartTask
from orchestrator.core.errors import Refusal, RefusalCode
from tests.browser.conftest import OpenAt, Served, until
from tests.fakes import canned

pytestmark = pytest.mark.browser

SENT = "() => localStorage.getItem('waiting acts') === '[]'"
KEPT = "async () => (await (await caches.open('screen')).keys()).map(k => new URL(k.url).pathname)"


class Link:
    """A server that can be cut off and comes back, with its kitchen as it was."""

    def __init__(self, served: Served) -> None:
        self.first = self.now = served

    def cut(self) -> None:
        """Nobody answers any more."""
        self.now.stop()

    def mend(self) -> None:
        """The same kitchen on the same port."""
        self.now = Served(self.first.gateway, port=self.first.port)


@pytest.fixture
def link(served: Served) -> Iterator[Link]:
    one = Link(served)
    yield one
    if one.now is not served:
        one.now.stop()


def kept(page: Page) -> Page:
    """Wait until the worker holds the page and its parts."""
    until(page, "() => navigator.serviceWorker.controller !== null")
    until(page, f"() => ({KEPT})().then(k => k.includes('/station/stove') && k.includes('/static/js/ticks.js'))")
    return page


def cut(page: Page, link: Link) -> None:
    link.cut()
    expect(page.locator("body.off")).to_have_count(1)


def test_taps_wait_through_a_reload_and_are_sent_once_in_order_with_their_own_time(
    open_at: OpenAt, served: Served, link: Link
) -> None:
    page = kept(open_at())
    cut(page, link)
    expect(page.locator("[data-offline]")).to_contain_text("Offline since 09:42.")
    expect(page.locator(".job").first).to_contain_text("No reading")
    expect(page.locator(".job").first).to_contain_text("Last heard 09:42: 74.6 °C")
    page.get_by_role("button", name="Finish tray").click()
    expect(page.locator("[data-made]")).to_have_text("36")
    page.get_by_role("button", name="Finish tray").click()
    expect(page.locator("[data-made]")).to_have_text("45")
    page.reload()
    expect(page.locator("body[data-kept].off")).to_have_count(1)
    expect(page.locator("[data-made]")).to_have_text("45")
    expect(page.locator("[data-kept-line]")).to_contain_text("2 kept")
    page.get_by_role("link", name="Add time").first.click()
    page.get_by_role("button", name="Add 10 min").click()
    served.gateway.set_snapshot(now=canned.later(25))
    link.mend()
    expect(page.locator("body.off")).to_have_count(0, timeout=30000)
    until(page, SENT, 30)
    sent = served.gateway.submitted
    assert [(type(one), getattr(one, "made_before", None)) for one in sent] == [
        (FinishTray, 27),
        (FinishTray, 36),
        (ExtendTask, None),
    ]
    assert {one.tapped_at for one in sent} == {canned.NOW}
    assert len({one.command_id for one in sent}) == 3
    expect(page.locator("[data-made]")).to_have_text("45")
    expect(page.locator(".waits-to-go")).to_be_hidden()


def test_start_and_its_end_are_kept_while_cut_off_and_the_button_says_so(
    open_at: OpenAt, served: Served, link: Link
) -> None:
    free = canned.BLEND.model_copy(update={"planned_start": canned.later(-4)})
    served.gateway.show(canned.busy_station(in_hand=(free,)))
    page = open_at()
    expect(page.locator("input[name=command_id]")).to_have_count(0)
    cut(page, link)
    page.get_by_role("button", name="Start", exact=True).click()
    expect(page.locator(".instead")).to_contain_text("Start: tapped 09:42, not sent yet.")
    expect(page.get_by_role("button", name="Start", exact=True)).to_be_hidden()
    page.locator(".instead").get_by_role("button", name="Finish step").click()
    expect(page.locator(".instead")).to_contain_text("Finish step: tapped 09:42, not sent yet.")
    link.mend()
    expect(page.locator(".job", has_text="Blend basil")).to_have_count(0, timeout=30000)
    assert [type(one) for one in served.gateway.submitted] == [StartTask, FinishTask]


def test_tap_that_waits_can_be_taken_back_and_is_never_sent(open_at: OpenAt, served: Served, link: Link) -> None:
    page = open_at()
    expect(page.locator("input[name=command_id]")).to_have_count(0)
    cut(page, link)
    page.get_by_role("button", name="Finish tray").click()
    page.locator(".offline-bar").get_by_role("button", name="1 kept").click()
    page.get_by_role("button", name="Take back").click()
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator("[data-made]")).to_have_text("27")
    link.mend()
    expect(page.locator("body.off")).to_have_count(0, timeout=30000)
    assert served.gateway.submitted == []


def test_tap_refused_after_all_is_shown_with_its_reason_until_somebody_has_read_it(
    open_at: OpenAt, served: Served, link: Link
) -> None:
    page = open_at()
    expect(page.locator("input[name=command_id]")).to_have_count(0)
    cut(page, link)
    page.get_by_role("button", name="Finish tray").click()
    served.gateway.answer = Refusal(
        code=RefusalCode.STALE, thing="W1.bake", status="36 are counted already, not 27", remedy="Look again"
    )
    link.mend()
    expect(page.locator(".message.refused")).to_contain_text("1 not taken", timeout=30000)
    page.locator(".message").get_by_role("button", name="Close").click()
    page.locator("header").get_by_role("button", name="1 not taken").click()
    expect(page.locator("#waiting li")).to_contain_text("09:42 Finish tray, Bake cones")
    expect(page.locator("#waiting li")).to_contain_text("36 are counted already, not 27")
    page.get_by_role("button", name="Read, remove").click()
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator(".waits-to-go")).to_be_hidden()


def test_tap_is_done_by_who_was_there_when_it_was_tapped(open_at: OpenAt, served: Served, link: Link) -> None:
    page = open_at()
    page.context.add_cookies([{"name": "person", "value": "early-cook", "url": served.url}])
    page.reload()
    expect(page.locator("input[name=command_id]")).to_have_count(0)
    cut(page, link)
    page.get_by_role("button", name="Finish tray").click()
    page.context.add_cookies([{"name": "person", "value": "manager", "url": served.url}])
    link.mend()
    until(page, SENT, 30)
    assert [one.person for one in served.gateway.submitted] == ["early-cook"]


def test_browser_without_a_worker_says_so_and_keeps_taps_all_the_same(
    open_at: OpenAt, served: Served, link: Link
) -> None:
    page = open_at("/stations")
    page.context.add_init_script("delete Navigator.prototype.serviceWorker")
    page.goto(f"{served.url}/station/stove")
    expect(page.locator("input[name=command_id]")).to_have_count(0)
    page.locator("header [data-screen]").click()
    if not page.locator("#screen").is_visible():
        page.locator("header [data-screen]").click()
    expect(page.locator("[data-reload-state]")).to_contain_text("loading the page again needs it")
    page.keyboard.press("Escape")
    cut(page, link)
    page.get_by_role("button", name="Finish tray").click()
    expect(page.locator(".message.kept")).to_contain_text("Kept 09:42: Finish tray, Bake cones.")


def test_link_that_dies_without_a_word_is_found_out(open_at: OpenAt) -> None:
    page = open_at("/stations")
    # A stream that opens and then says nothing any more, as a lost wireless network does.
    page.add_init_script(
        "delete window.SharedWorker;"  # which would hold the stream where nothing can be put in its place
        "window.EventSource = class extends EventTarget { constructor() { super(); this.readyState = 1; } close() {} }"
    )
    page.clock.install()
    page.goto(page.url.replace("/stations", "/station/stove"))
    page.clock.fast_forward(30_000)
    expect(page.locator("body.off")).to_have_count(0)
    page.clock.fast_forward(20_000)
    expect(page.locator("body.off")).to_have_count(1)
