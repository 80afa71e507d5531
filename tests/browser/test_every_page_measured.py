"""Every page weighed, and its targets and letters measured as the browser draws them.

Target sizes and letters at two metres are the project's own rule, wider than WCAG 2.2 (2.5.8: 24 px; 1.4.3: 4.5:1).
"""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from display.views import CoreViews
from tests.browser.conftest import Served
from tests.browser.full_house import addresses, full_house

pytestmark = pytest.mark.browser

MOST_BYTES = 150_000
STATIONS = ("/station/stove", "/station/pastry", "/station/counter")
TOUCHED = (*STATIONS, "/stations", "/board", "/person", "/task/C1.cook", "/alarms", "/")
"""What is touched with wet hands at a station or before the board."""
TWO_METRES = 64
"""Letters of this many px and more, and heads of alarms, are read from two metres."""

TARGETS = """() => [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, summary, textarea')]
  .filter(e => e.checkVisibility({visibilityProperty: true, opacityProperty: true}) && !e.closest('svg.plot') && getComputedStyle(e).pointerEvents !== 'none')
  .map(e => {
    const whole = e.closest('label') ?? e, box = whole.getBoundingClientRect();
    const act = e.matches('button') && !!e.closest('.panel-station-hand, .panel-station-sill');
    return {what: e.outerHTML.slice(0, 140), act, x: box.x, y: box.y, width: box.width, height: box.height};
  })
  .filter(t => t.width > 1 && t.height > 1)"""

CONTRASTS = """(least) => {
  const parse = c => { const n = (c.match(/[\\d.]+/g) ?? [0, 0, 0, 0]).map(Number); return n.length < 4 ? [...n, 1] : n; };
  const over = (a, b) => [0, 1, 2].map(i => a[i] * a[3] + b[i] * (1 - a[3])).concat(1);
  const lum = c => c.slice(0, 3).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ground = e => { const layers = []; for (let at = e; at; at = at.parentElement) { const c = parse(getComputedStyle(at).backgroundColor);
    if (c[3]) layers.push(c); if (c[3] === 1) break; } return layers.reverse().reduce((under, c) => over(c, under), [255, 255, 255, 1]); };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement, text = walker.currentNode.data.trim();
    if (!text || e.closest('script, style, svg, .only-heard') || !e.checkVisibility({visibilityProperty: true})) continue;
    const style = getComputedStyle(e), size = parseFloat(style.fontSize), bold = style.fontWeight >= 600;
    const far = size >= least || !!e.closest('.panel-station-sill .alarm p b');
    const under = ground(e), [a, b] = [lum(over(parse(style.color), under)), lum(under)];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const asked = far ? 7 : (size >= 24 || (size >= 18.66 && bold)) ? 3 : 4.5;
    found.push({text: text.slice(0, 60), size, far, ratio, asked});
  }
  return found;
}"""


@pytest.fixture(scope="module")
def house() -> Iterator[Served]:
    """The example kitchen with something of everything."""
    served = Served(full_house(), CoreViews())
    yield served
    served.stop()


def _page(browser: Browser, house: Served, language: str, **more: Any) -> Page:
    context = browser.new_context(**more)
    cookies = {"language": language, "person": "manager"}
    context.add_cookies([{"name": name, "value": value, "url": house.url} for name, value in cookies.items()])
    return context.new_page()


def test_first_load_of_every_page_is_light(browser: Browser, house: Served) -> None:
    """All that comes over the wire with an empty cache, the stream's first state too."""
    heavy = {}
    for path in addresses(house.app.web):
        page = _page(browser, house, "es", viewport={"width": 1280, "height": 800})
        session = page.context.new_cdp_session(page)
        session.send("Network.enable")
        got: list[int] = []
        session.on("Network.dataReceived", lambda e, got=got: got.append(e["encodedDataLength"] or e["dataLength"]))
        page.goto(house.url + path, wait_until="load")
        page.wait_for_timeout(600)
        page.context.close()
        if not 5_000 < sum(got) <= MOST_BYTES:
            heavy[path] = sum(got)
    assert heavy == {}


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("language", ["en", "es"])
def test_targets_can_be_hit_with_wet_hands(browser: Browser, house: Served, language: str, width: int) -> None:
    page = _page(browser, house, language, viewport={"width": width, "height": 844})
    small: dict[str, list[str]] = {}
    acts = 0
    for path in TOUCHED:
        page.goto(house.url + path, wait_until="load")
        targets = page.evaluate(TARGETS)
        said = [f"{t['height']:.0f} px: {t['what']}" for t in targets if t["height"] < (63.5 if t["act"] else 47.5)]
        of_acts = [t for t in targets if t["act"]]
        acts += len(of_acts)
        said += [f"{gap:.0f} px apart: {a['what']} | {b['what']}" for gap, a, b in _close(of_acts)]
        if said:
            small[f"{path} {width}"] = said
    page.context.close()
    assert small == {}
    assert acts >= 6


def _close(targets: list[dict[str, Any]]) -> list[tuple[float, dict[str, Any], dict[str, Any]]]:
    """Pairs of acts with less than 16 px between them, in the direction in which they are apart."""
    found = []
    for number, a in enumerate(targets):
        for b in targets[number + 1 :]:
            across = max(b["x"] - a["x"] - a["width"], a["x"] - b["x"] - b["width"])
            down = max(b["y"] - a["y"] - a["height"], a["y"] - b["y"] - b["height"])
            if max(across, down) < 15.5:
                found.append((max(across, down), a, b))
    return found


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_letters_keep_their_contrast(browser: Browser, house: Served, theme: str) -> None:
    """7:1 for what is read from two metres, WCAG AA for all else, from the colours that the browser computed."""
    page = _page(browser, house, "es", viewport={"width": 1280, "height": 800}, color_scheme=theme)
    pale: dict[str, list[str]] = {}
    far = 0
    for path in addresses(house.app.web):
        page.goto(house.url + path, wait_until="load")
        said = page.evaluate(CONTRASTS, TWO_METRES)
        far += sum(one["far"] for one in said)
        if weak := [f"{one['ratio']:.2f} of {one['asked']}: {one['text']}" for one in said if one["ratio"] < one["asked"]]:
            pale[path] = weak
    page.context.close()
    assert pale == {}
    assert far >= 4
