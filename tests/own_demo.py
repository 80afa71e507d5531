"""A demo of one's own for pictures of its pages: started, taken to a moment worth seeing, ended."""

import re
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Page

_COMMAND = (sys.executable, "-u", "-m", "orchestrator.cli.main", "demo", "--fresh", "--port", "0")
_OPENS_WITHIN_S = 240.0


@contextmanager
def own_demo(*options: str) -> Iterator[str]:
    """Where to look at it. Raises: SystemExit: it ended at once."""
    with tempfile.TemporaryDirectory() as data:
        demo = subprocess.Popen([*_COMMAND, *options, "--data", data], stdout=subprocess.PIPE, text=True)
        try:
            yield _address(demo)
        finally:
            demo.terminate()
            demo.wait(30)


def _address(demo: subprocess.Popen[str]) -> str:
    assert demo.stdout is not None
    for line in demo.stdout:
        if found := re.search(r"http://127\.0\.0\.1:\d+", line):
            return found.group()
    raise SystemExit("the demo ended before it said where to look")


def wait_for_a_curve(url: str, page: Page) -> bool:
    """Until the stove has a task with a temperature in hand; then the clock goes slowly. Returns: whether it has."""
    deadline = time.monotonic() + _OPENS_WITHIN_S
    while not (found := _has_a_curve(url, page)) and time.monotonic() < deadline:
        time.sleep(1)
    form = urllib.request.Request(f"{url}/practice/rate", b"rate=1", {"Origin": url})
    urllib.request.urlopen(form).close()
    return found


def _has_a_curve(url: str, page: Page) -> bool:
    page.goto(f"{url}/station/stove")
    return page.locator("svg.curve").count() > 0
