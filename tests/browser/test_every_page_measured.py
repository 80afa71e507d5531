"""Every page weighed, and its targets and letters measured as the browser draws them.

Target sizes and letters at two metres are the project's own rule, wider than WCAG 2.2 (2.5.8: 24 px; 1.4.3: 4.5:1).
"""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, Page

from display.views import CoreViews
from tests.browser.conftest import Served
from tests.browser.full_house import addresses, full_house, settled

pytestmark = pytest.mark.browser

MOST_BYTES = 150_000
STATIONS = ("/station/stove", "/station/pastry", "/station/counter")
TOUCHED = (*STATIONS, "/stations", "/board", "/person", "/task/C1.cook", "/alarms", "/")
"""What is touched with wet hands at a station or before the board."""
TWO_METRES = 64
"""Letters of this many px and more, and heads of alarms, are read from two metres."""

MEASURES: Final = (Path(__file__).parent / "measures.js").read_text()
"""Two functions of the page's own world: `targets()` and `contrasts(least)`."""


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
        coming: dict[str, int] = {}
        session.on("Network.dataReceived", partial(_came, coming))
        session.on("Network.loadingFinished", partial(_finished, coming))
        page.goto(house.url + path, wait_until="load")
        whole = sum(coming.values()) + len("retry: 2000\n\n")
        for _ in range(50):  # the stream's first state, which a busy machine renders late
            if sum(coming.values()) > whole:
                break
            page.wait_for_timeout(100)
        page.context.close()
        if not 5_000 < sum(coming.values()) <= MOST_BYTES:
            heavy[path] = sum(coming.values())
    assert heavy == {}


def _came(coming: dict[str, int], event: dict[str, Any]) -> None:
    """Of what goes on coming, such as a stream, the parts so far."""
    name = event["requestId"]
    coming[name] = coming.get(name, 0) + (event["encodedDataLength"] or event["dataLength"])


def _finished(coming: dict[str, int], event: dict[str, Any]) -> None:
    """The whole as it went over the wire, heads included."""
    coming[event["requestId"]] = event["encodedDataLength"]


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("language", ["en", "es"])
def test_targets_can_be_hit_with_wet_hands(browser: Browser, house: Served, language: str, width: int) -> None:
    page = _page(browser, house, language, viewport={"width": width, "height": 844})
    small: dict[str, list[str]] = {}
    acts = 0
    for path in TOUCHED:
        page.goto(house.url + path, wait_until="load")
        targets = page.evaluate(f"{MEASURES}; targets()")
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
        settled(page, house.url + path)
        said = page.evaluate(f"{MEASURES}; contrasts({TWO_METRES})")
        far += sum(one["far"] for one in said)
        if weak := [
            f"{one['ratio']:.2f} of {one['asked']}: {one['text']}" for one in said if one["ratio"] < one["asked"]
        ]:
            pale[path] = weak
    page.context.close()
    assert pale == {}
    assert far >= 4
