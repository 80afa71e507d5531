"""Station and board on a processor six times slower: a real Chromium, slowed down by its own tools.

Everything is told in milliseconds of that slow processor, beside the same page at full speed in the same run. Script,
style and layout are counted by the browser (`Performance.getMetrics`); a tap from the click until its answer is on the
page. Slowing down is done by the browser with the wall clock, so that a busy machine makes both columns larger.
"""

from collections.abc import Mapping
from datetime import timedelta
from functools import partial
from statistics import median
from typing import Any, Final

from playwright.sync_api import CDPSession, Page, sync_playwright

from display.views import CoreViews
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import number, table
from tests.browser.conftest import ARGS, CHROMIUM, Served
from tests.browser.full_house import full_house

SLOWER: Final = 6
PAGES: Final = (("/station/stove", "early-cook"), ("/board", "manager"))
_COUNTED: Final = {"script_ms": "ScriptDuration", "all_ms": "TaskDuration"}
_TOLD: Final = (
    "longest_loading_ms",
    "longest_later_ms",
    "idle_script_ms_per_min",
    "idle_all_ms_per_min",
    "reading_all_ms",
    "tap_ms",
)
_WATCH: Final = """() => {
  window.longTasks = [];
  new PerformanceObserver((l) => l.getEntries().forEach((e) => window.longTasks.push(e.duration)))
    .observe({ type: "longtask", buffered: true });
  new MutationObserver(() => { if (window.tapped) { window.answered ??= performance.now() - window.tapped; } })
    .observe(document.querySelector("[data-messages]"), { childList: true });
  addEventListener("click", () => { window.tapped = performance.now(); window.answered = null; }, true);
}"""


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """Each page at full speed and slowed down."""
    seconds, times = (60.0, 20) if full else (10.0, 5)
    return tuple(
        Measurement(f"{path}, {rate}× slower", seconds + 30, partial(measured, path, person, rate, seconds, times))
        for path, person in PAGES
        for rate in (1, SLOWER)
    )


def measured(path: str, person: str, rate: int, seconds: float, times: int) -> Figures:
    """Load, a while of nothing, readings, taps (on the station)."""
    gateway = full_house()
    served = Served(gateway, CoreViews())
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
            context = browser.new_context(viewport={"width": 1280, "height": 800})
            context.add_cookies([{"name": "person", "value": person, "url": served.url}])
            page = context.new_page()
            session = context.new_cdp_session(page)
            session.send("Performance.enable")
            session.send("Emulation.setCPUThrottlingRate", {"rate": rate})
            page.goto(served.url + path, wait_until="load")
            page.evaluate(_WATCH)
            page.wait_for_timeout(3000)
            loading = _long(page)
            idle = _counted(session, partial(page.wait_for_timeout, seconds * 1000))
            updates = _counted(session, partial(_read, page, gateway, times))
            later = _long(page)
            taps = [_tap(page) for _ in range(times)] if path.startswith("/station") else []
            browser.close()
    finally:
        served.stop()
    return {
        "path": path,
        "rate": rate,
        "longest_loading_ms": max(loading, default=0.0),
        "longest_later_ms": max(later, default=0.0),
        "idle_script_ms_per_min": idle["script_ms"] / seconds * 60,
        "idle_all_ms_per_min": idle["all_ms"] / seconds * 60,
        "reading_all_ms": updates["all_ms"] / times,
        "tap_ms": median(taps) if taps else None,
    }


def _long(page: Page) -> list[float]:
    """Tasks of more than 50 ms since this was last asked. Source: W3C, Long Tasks API."""
    found: list[float] = page.evaluate("() => window.longTasks.splice(0)")
    return found


def _counted(session: CDPSession, act: Any) -> dict[str, float]:
    before = _metrics(session)
    act()
    after = _metrics(session)
    return {name: (after[theirs] - before[theirs]) * 1000 for name, theirs in _COUNTED.items()}


def _metrics(session: CDPSession) -> dict[str, float]:
    return {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}


def _read(page: Page, gateway: Any, times: int) -> None:
    """Every probe shows something else, again and again."""
    for _ in range(times):
        for probe, fact in list(gateway.facts.items()):
            if fact.celsius is not None:
                gateway.facts[probe] = fact.model_copy(update={"celsius": round(fact.celsius + 0.1, 1)})
        gateway.now += timedelta(seconds=5)
        for callback in tuple(gateway._callbacks):
            callback()
        page.wait_for_timeout(700)


def _tap(page: Page) -> float:
    """From the click on the first large button until something is said about it."""
    page.locator('form[action="/acts/finish"] button').first.click()
    for _ in range(400):
        found: float | None = page.evaluate("() => window.answered ?? null")
        if found is not None:
            return found
        page.wait_for_timeout(25)
    raise TimeoutError("a tap was not answered within 10 s")


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each page and speed."""
    rows = []
    for row in found.values():
        speed = "full speed" if row["rate"] == 1 else f"{row['rate']}× slower"
        rows.append([f"{row['path']}, {speed}", *(number(row[name]) for name in _TOLD)])
    head = ["", "longest task, loading", "longest later", "script a minute", "all a minute", "all a reading", "tap"]
    return f"## Slow screens\n\nMilliseconds, at 1280×800.\n\n{table(head, rows)}"
