"""Makes the pictures of README.md from a running demo: ``make pictures``.

The demo's own clock is slowed once the station has a task in hand, so that the pages show one moment.
"""

from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.conftest import ARGS, CHROMIUM
from tests.own_demo import own_demo, wait_for_a_curve

DOCS = Path(__file__).parents[1] / "docs"
SHOTS = (
    ("station", "/station/stove", 1280, 800, "light"),
    ("station-dark", "/station/stove", 1280, 800, "dark"),
    ("station-phone", "/station/stove", 390, 844, "light"),
    ("board", "/board", 1280, 800, "light"),
    ("probes", "/probes", 1280, 800, "light"),
)


def main() -> None:
    """Start a demo, wait for something to show, take the pictures, end it."""
    with own_demo("--no-troubles") as url, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        if not wait_for_a_curve(url, browser.new_page()):
            raise SystemExit("no task with a temperature came into hand in time; the pictures stay as they are")
        for name, path, width, height, scheme in SHOTS:
            page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)  # type: ignore[arg-type]
            page.goto(url + path)
            page.wait_for_timeout(1500)
            page.screenshot(path=DOCS / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    main()
