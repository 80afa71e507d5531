"""Makes the pictures of README.md from a running demo: ``make pictures``.

The demo's own clock is slowed once the station has a task in hand, so that the pages show one moment.
"""

import re
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import ARGS, CHROMIUM

DOCS = Path(__file__).parents[1] / "docs"
OPENS_WITHIN_S = 180.0
SHOTS = (
    ("station", "/station/stove", 1280, 800, "light"),
    ("station-dark", "/station/stove", 1280, 800, "dark"),
    ("station-phone", "/station/stove", 390, 844, "light"),
    ("board", "/board", 1280, 800, "light"),
    ("probes", "/probes", 1280, 800, "light"),
)


def main() -> None:
    """Start a demo, wait for something to show, take the pictures, end it."""
    with tempfile.TemporaryDirectory() as folder:
        command = [
            sys.executable,
            "-u",
            "-m",
            "orchestrator.cli.main",
            "demo",
            "--fresh",
            "--no-troubles",
            "--port",
            "0",
        ]
        demo = subprocess.Popen([*command, "--data", folder], stdout=subprocess.PIPE, text=True)
        try:
            url = _address(demo)
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
                _wait_for_a_curve(url, browser.new_page())
                for name, path, width, height, scheme in SHOTS:
                    page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)  # type: ignore[arg-type]
                    page.goto(url + path)
                    page.wait_for_timeout(1500)
                    page.screenshot(path=DOCS / f"{name}.png")
                browser.close()
        finally:
            demo.terminate()
            demo.wait(30)


def _address(demo: subprocess.Popen[str]) -> str:
    assert demo.stdout is not None
    for line in demo.stdout:
        if found := re.search(r"http://127\.0\.0\.1:\d+", line):
            return found.group()
    raise SystemExit("the demo ended before it said where to look")


def _wait_for_a_curve(url: str, page: Page) -> None:
    """Until the stove has a task with a temperature in hand; then the clock goes slowly."""
    deadline = time.monotonic() + OPENS_WITHIN_S
    while time.monotonic() < deadline:
        page.goto(f"{url}/station/stove")
        if page.locator("svg.curve").count():
            _rate(url, 1)
            return
        time.sleep(1)
    raise SystemExit("no task with a temperature came into hand in time; the pictures stay as they are")


def _rate(url: str, rate: float) -> None:
    form = urllib.request.Request(f"{url}/practice/rate", f"rate={rate}".encode(), {"Origin": url})
    urllib.request.urlopen(form).close()


if __name__ == "__main__":
    main()
