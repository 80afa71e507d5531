"""Every page against axe-core, in both languages and both themes: no violation of WCAG 2.2 AA or of its best practices.

axe-core (MPL-2.0) comes with the package axe-playwright-python; it judges what the browser has made of a page.
"""

from collections.abc import Iterator

import axe_playwright_python
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from display.views import CoreViews
from tests.browser.conftest import Served, watched
from tests.browser.full_house import addresses, full_house, settled

pytestmark = pytest.mark.browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
OF_COLOUR = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
"""What another theme can change."""


@pytest.fixture(scope="module")
def house() -> Iterator[Served]:
    """The example kitchen with something of everything."""
    served = Served(full_house(), CoreViews())
    yield served
    served.stop()


def violations(page: Page, options: dict[str, object]) -> list[str]:
    """Each with the rule and what breaks it."""
    found = Axe().run(page, options=options).response["violations"]
    return [f"{one['id']}: {node['html'][:160]} — {node['failureSummary']}" for one in found for node in one["nodes"]]


@pytest.mark.parametrize(("language", "width"), [("en", 1280), ("es", 390)])
def test_no_page_has_a_violation_in_either_theme(browser: Browser, house: Served, language: str, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme="light")
    context.add_cookies([{"name": "language", "value": language, "url": house.url}])
    context.add_cookies([{"name": "person", "value": "manager", "url": house.url}])
    page = context.new_page()
    faults: list[str] = []
    watched(page, faults)
    broken: dict[str, list[str]] = {}
    for path in addresses(house.app.web):
        page.emulate_media(color_scheme="light")
        settled(page, house.url + path)
        assert page.locator("html").get_attribute("lang") == language
        said = violations(page, RULES)
        page.emulate_media(color_scheme="dark")
        said += [f"dark {one}" for one in violations(page, OF_COLOUR)]
        if said:
            broken[path] = said
    context.close()
    assert broken == {}
    assert faults == []


def test_axe_finds_what_is_wrong(browser: Browser) -> None:
    """A page with three faults that WCAG names; else a silent axe would look like a clean house."""
    assert axe_playwright_python.__file__
    page = browser.new_page()
    page.set_content('<html><body><main><img src="data:,"><button></button><p style="color:#aaa">pale</p></main>')
    said = {one.partition(":")[0] for one in violations(page, RULES)}
    page.close()
    assert {"image-alt", "button-name", "color-contrast"} <= said
