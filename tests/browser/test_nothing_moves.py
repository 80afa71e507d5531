"""Layout shift, as the browser itself counts it (Layout Instability API): nothing moves while a kitchen goes on."""

import time
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Page, expect

from display.views import CoreViews
from orchestrator.core.ids import ProbeId
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.views.models import StationView
from tests.browser.conftest import OpenAt, Served, until
from tests.browser.full_house import full_house
from tests.fakes import canned, canned_trouble
from tests.fakes.kitchen_gateway import KitchenGateway

pytestmark = pytest.mark.browser

PATHS = (
    "/station/stove",
    "/station/pastry",
    "/station/counter",
    "/board",
    "/probes",
    "/alarms",
    "/lots",
    "/task/C1.cook",
)
STEP_S = 5
STEPS = 120
"""Ten minutes of the kitchen, a reading every five seconds: as fast as a station is sent anything."""
LAST = "13:40"
"""What clocks say then."""

RENEWED = """window.renewed = new Set();
document.addEventListener('renewed', event => window.renewed.add(event.detail.panel));"""
FIRST_STATE = """() => document.fonts.status === 'loaded'
  && [...document.querySelectorAll('[data-panel]')].every(e => window.renewed.has(e.dataset.panel))"""
"""The letters are there, and the stream has told each panel once."""
WATCH = """() => { window.moved = []; new PerformanceObserver(list => { for (const one of list.getEntries())
  window.moved.push([one.value, ...one.sources.map(s => [(s.node?.outerHTML ?? s.node?.data ?? '').slice(0, 120),
    'y', s.previousRect.y, s.currentRect.y, 'after', s.node?.previousElementSibling?.innerText])]);
}).observe({type: 'layout-shift'}); }"""
"""What moved, from where to where, and the words above it, one of which made it."""


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_nothing_moves_while_ten_minutes_of_readings_come(browser: Browser, width: int, height: int) -> None:
    """The base on the hob comes to its target, three probes are read, clocks and countdowns run on."""
    gateway = full_house()
    served = Served(gateway, CoreViews())
    pages: dict[str, Page] = {}
    for path in PATHS:
        # One context each: a browser keeps six connections to a host, and every page holds one for its stream.
        context = browser.new_context(viewport={"width": width, "height": height})
        context.add_init_script(RENEWED)
        pages[path] = context.new_page()
        pages[path].goto(served.url + path, wait_until="load")
    for page in pages.values():
        until(page, FIRST_STATE, 60)
        page.wait_for_timeout(200)  # what it led to is drawn
        page.evaluate(WATCH)
    for step in range(STEPS):
        _go_on(gateway, step)
        time.sleep(0.1)
    for page in pages.values():
        until(page, f"() => document.querySelector('[data-live-clock]').textContent === '{LAST}'", 60)
    moved = {path: found for path, page in pages.items() if (found := page.evaluate("window.moved"))}
    for page in pages.values():
        page.context.close()
    served.stop()
    assert moved == {}


def _go_on(gateway: KitchenGateway, step: int) -> None:
    """Five seconds later: each probe has a new reading. No new alarm comes: one takes the stores' place."""
    gateway.now += timedelta(seconds=STEP_S)
    celsius = 71.3 + 11.0 * step / STEPS
    left = timedelta(minutes=5.0 * (1.0 - step / STEPS))
    arrives = {"arrival_from": gateway.now + left, "arrival_to": gateway.now + left + timedelta(minutes=2)}
    told = {
        "hob-1-core": {"celsius": round(celsius, 1), **arrives},
        "freezer-air": {"celsius": round(-9.0 + step % 7 / 10, 1)},
        "fridge-air": {"celsius": round(3.0 + step % 5 / 10, 1)},
    }
    for probe, what in told.items():
        fact = gateway.facts[ProbeId(probe)]
        gateway.facts[ProbeId(probe)] = fact.model_copy(update={"measured_at": gateway.now, **what})
    gateway.changed()


TARGETS = """() => Object.fromEntries([...document.querySelectorAll(
  'main :is(a, button, input, summary), .panel-station-horizon a, .last-act button')]
  .filter(e => e.getClientRects().length && e.type !== 'hidden')
  .map((e, n) => { const r = e.getBoundingClientRect();
    return [`${n} ${e.textContent.trim() || e.name}`, [r.x, r.y + scrollY, r.width, r.height].map(Math.round)]; }))"""
SEEN = canned.WARM_FREEZER.model_copy(
    update={"status": AlarmStatus.ACKNOWLEDGED, "acknowledged_at": canned.NOW, "acknowledged_by": "early-cook"}
)
COMING: dict[str, tuple[Alarm, ...]] = {
    ".alarm": (canned.WARM_FREEZER,),
    ".alarm-warning": (canned_trouble.STOPPED_CHURN, canned.WARM_FREEZER),
    ".alarm:not(.alarm-warning)": (canned.WARM_FREEZER, canned.LATE_ZEST),
    ".sill-seen > .alarm-seen": (SEEN,),
    ".sill:not(.sill-seen, .sill-alarms)": (),
}
"""What comes one after the other, by what then stands in the sill."""


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("made", [canned.idle_station, canned.busy_station, canned.due_station])
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_no_target_of_the_station_moves_as_alarms_come_and_go(
    open_at: OpenAt, served: Served, width: int, height: int, made: Callable[[], StationView], language: str
) -> None:
    served.gateway.show(made())
    page = open_at(width=width, height=height)
    page.context.add_cookies([{"name": "language", "value": language, "url": served.url}])
    page.reload()
    expect(page.locator("html")).to_have_attribute("lang", language)
    page.wait_for_timeout(1000)  # the stream's first state, and rows counted that fit
    before = page.evaluate(TARGETS)
    assert len(before) >= 6
    for stands, alarms in COMING.items():
        served.gateway.show(made().model_copy(update={"alarms": alarms}))
        expect(page.locator(stands).first).to_be_attached()
        page.wait_for_timeout(600)  # panels of one change may come one after the other
        after = page.evaluate(TARGETS)
        assert {name: (box, after.get(name)) for name, box in before.items() if box != after.get(name)} == {}, stands
