"""One event stream for all pages of a browser: it keeps six connections to a host (RFC 9112 section 9.4 leaves the
number to clients; Chromium's is six), so with a stream a page the seventh would hang."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from display.views import CoreViews
from tests.browser.conftest import Served, until, watched
from tests.browser.full_house import full_house
from tests.fakes import canned
from tests.fakes.gateway import FakeGateway

pytestmark = pytest.mark.browser

PATHS = ("/station/stove", "/station/pastry", "/station/counter", "/board", "/probes", "/alarms", "/lots", "/orders")
NO_SHARING = "delete window.SharedWorker"


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """One browser, as one person's: its pages share what pages of a browser share."""
    one = browser.new_context(viewport={"width": 1280, "height": 800})
    faults: list[str] = []
    one.on("page", lambda page: watched(page, faults))
    yield one
    one.close()
    assert faults == []


def at(context: BrowserContext, served: Served, path: str) -> Page:
    page = context.new_page()
    page.goto(served.url + path, wait_until="domcontentloaded")
    return page


def streams(served: Served) -> int:
    return len(served.app.hub)


def clock(page: Page, says: str) -> None:
    until(page, f"() => document.querySelector('[data-live-clock]').textContent === '{says}'", 20)


def test_eight_pages_of_one_browser_are_all_live_over_one_stream_and_a_ninth_still_opens(
    context: BrowserContext,
) -> None:
    gateway = full_house()
    served = Served(gateway, CoreViews())
    pages = [at(context, served, path) for path in PATHS]
    pages[0].wait_for_timeout(1500)
    assert streams(served) == 1
    fact = next(iter(gateway.facts))
    gateway.facts[fact] = gateway.facts[fact].model_copy(update={"celsius": 61.7})
    gateway.now = gateway.now.replace(hour=13, minute=44)
    gateway.changed()
    for page in pages:
        clock(page, "13:44")
    expect(pages[4].locator("main")).to_contain_text("61.7")
    expect(pages[0].locator("main")).to_contain_text("61.7")
    ninth = at(context, served, "/recipes")
    expect(ninth.locator("h1")).to_be_visible()
    for page in (*pages, ninth):
        page.close()
    at(context, served, "/api/v1/openapi.json").wait_for_timeout(1000)
    assert streams(served) == 0
    served.stop()


def test_without_a_shared_worker_each_page_has_its_own_stream(context: BrowserContext) -> None:
    served = Served(FakeGateway())
    context.add_init_script(NO_SHARING)
    pages = [at(context, served, path) for path in ("/station/stove", "/stations")]
    pages[0].wait_for_timeout(1000)
    assert streams(served) == 2
    served.gateway.set_snapshot(now=canned.later(7))
    for page in pages:
        clock(page, "09:49")
    served.stop()


def test_all_pages_know_that_the_link_is_lost_and_go_on_once_it_is_back(context: BrowserContext) -> None:
    served = Served(FakeGateway())
    pages = [at(context, served, path) for path in ("/station/stove", "/stations", "/station/stove")]
    pages[0].wait_for_timeout(1000)
    served.stop()
    for page in pages:
        expect(page.locator("body.off")).to_have_count(1)
    served.gateway.set_snapshot(now=canned.later(30))
    back = Served(served.gateway, port=served.port)
    for page in pages:
        expect(page.locator("body.off")).to_have_count(0, timeout=30000)
        clock(page, "10:12")
    assert streams(back) == 1
    back.stop()


def test_after_a_long_sleep_the_shared_stream_is_asked_anew(context: BrowserContext) -> None:
    """Frozen as a browser freezes a page that is not seen; the worker takes it for gone meanwhile."""
    served = Served(FakeGateway())
    page = at(context, served, "/station/stove")
    other = at(context, served, "/stations")
    page.wait_for_timeout(1000)
    protocol = context.new_cdp_session(page)
    protocol.send("Page.setWebLifecycleState", {"state": "frozen"})
    other.wait_for_timeout(1000)
    served.gateway.set_snapshot(now=canned.later(200))
    clock(other, "13:02")
    protocol.send("Page.setWebLifecycleState", {"state": "active"})
    clock(page, "13:02")
    assert streams(served) == 1
    served.stop()


def test_pages_that_read_otherwise_have_a_stream_of_their_own(context: BrowserContext) -> None:
    served = Served(FakeGateway())
    english = at(context, served, "/station/stove")
    context.add_cookies([{"name": "language", "value": "es", "url": served.url}])
    spanish = at(context, served, "/station/stove")
    english.wait_for_timeout(1000)
    assert streams(served) == 2
    served.gateway.show(canned.busy_station(alarms=(canned.WARM_FREEZER,)))
    expect(english.get_by_role("button", name="Mark as seen")).to_be_visible()
    expect(spanish.get_by_role("button", name="Marcar como visto")).to_be_visible()
    served.stop()


def test_a_page_whose_worker_says_nothing_falls_back_to_its_own_stream(context: BrowserContext) -> None:
    served = Served(FakeGateway())
    context.add_init_script(
        "window.SharedWorker = class extends EventTarget { constructor() { super();"
        " const port = new EventTarget(); port.start = port.postMessage = () => {}; this.port = port; } }"
    )
    page = at(context, served, "/station/stove")
    page.wait_for_timeout(500)
    assert streams(served) == 0
    page.wait_for_timeout(18000)
    assert streams(served) == 1
    served.gateway.set_snapshot(now=canned.later(7))
    clock(page, "09:49")
    served.stop()
