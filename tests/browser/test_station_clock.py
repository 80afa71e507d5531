"""Countdowns on the station screen after sleep, a reload and a change of the device's clock."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenAt, Served
from tests.fakes import canned

pytestmark = pytest.mark.browser

JUMP = "by => { window.ahead = (window.ahead ?? 0) + by; }"
"""The device's clock set or woken: `Date` moves, `performance.now()` does not, as in Chromium on Linux and Android,
where the running time stands still in sleep (CLOCK_MONOTONIC, see clock_gettime(2))."""
CLOCK = "const real = Date.now; Date.now = () => real() + (window.ahead ?? 0);"
MINUTE = 60_000


def ready(open_at: OpenAt, served: Served) -> Page:
    page = open_at("/stations")
    page.add_init_script(CLOCK)
    page.goto(f"{served.url}/station/stove")
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    expect(page.locator(".figure [data-until]")).to_have_text("4:00")
    return page


def test_countdown_is_right_after_a_long_frozen_sleep(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at, served)
    protocol = page.context.new_cdp_session(page)
    protocol.send("Page.setWebLifecycleState", {"state": "frozen"})
    served.gateway.set_snapshot(now=canned.later(200))
    protocol.send("Page.setWebLifecycleState", {"state": "active"})
    page.evaluate(JUMP, 200 * MINUTE)
    expect(page.locator("[data-live-clock]")).to_have_text("13:02")
    expect(page.locator(".figure [data-until]")).to_have_text("+3 h 16")


def test_clock_that_somebody_sets_changes_nothing(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at, served)
    for by in (90 * MINUTE, -180 * MINUTE):
        page.evaluate(JUMP, by)
        page.wait_for_timeout(2500)
        expect(page.locator("[data-live-clock]")).to_have_text("09:42")
        expect(page.locator(".figure [data-until]")).to_have_text("4:00")


def test_sleep_without_a_link_is_counted_by_the_devices_clock_and_a_clock_set_back_is_not(
    open_at: OpenAt, served: Served
) -> None:
    served.gateway.set_snapshot(rate=1.0)
    page = open_at("/stations")
    page.add_init_script(CLOCK + "delete window.SharedWorker")  # Playwright cuts off pages, no worker that they share
    page.goto(f"{served.url}/station/stove")
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    page.context.set_offline(True)
    served.app.close_soon()
    expect(page.locator("body.off")).to_have_count(1)
    page.evaluate(JUMP, 40 * MINUTE)
    expect(page.locator("[data-live-clock]")).to_have_text("10:22")
    page.evaluate(JUMP, -30 * MINUTE)
    page.wait_for_timeout(2500)
    expect(page.locator("[data-live-clock]")).to_have_text("10:22")
    page.context.set_offline(False)


def test_screen_seen_again_asks_for_the_time(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at, served)
    hide = "on => { Object.defineProperty(document, 'hidden', {value: on, configurable: true}); }"
    page.evaluate(hide, True)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    served.gateway.set_snapshot(now=canned.later(3))
    page.wait_for_timeout(600)
    expect(page.locator(".figure [data-until]")).to_have_text("4:00")  # its stream was closed
    page.evaluate(hide, False)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator(".figure [data-until]")).to_have_text("1:00")


def test_reload_shows_the_countdown_that_was_there(open_at: OpenAt, served: Served) -> None:
    page = ready(open_at, served)
    served.gateway.set_snapshot(now=canned.later(1))
    expect(page.locator(".figure [data-until]")).to_have_text("3:00")
    page.reload()
    expect(page.locator(".figure [data-until]")).to_have_text("3:00")
