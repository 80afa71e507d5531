"""The real screens under uvicorn on a free port, in front of a fake gateway, seen by a real browser."""

import asyncio
import shutil
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator, Mapping
from urllib.parse import urljoin

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, expect, sync_playwright

from display.access.guard import Guard
from display.app import Display, create_app
from display.views import CoreViews, Views
from orchestrator.gateway.door import Gateway
from tests.fakes.gateway import FakeGateway

CHROMIUM = "/usr/bin/chromium"
ARGS = ["--no-sandbox", "--disable-gpu", "--headless", "--disable-dev-shm-usage"]


class Served:
    """A running server over a fake gateway, which is the source of its views too unless another is given."""

    gateway: FakeGateway

    def __init__(self, gateway: Gateway, views: Views | None = None, port: int = 0, guard: Guard | None = None) -> None:
        if isinstance(gateway, FakeGateway):
            self.gateway = gateway
            views = views or gateway
        self.app: Display = create_app(gateway, views, guard)
        config = uvicorn.Config(self.app, host="127.0.0.1", port=port, log_level="warning", timeout_graceful_shutdown=2)
        self.server = uvicorn.Server(config)
        self._thread = threading.Thread(target=lambda: asyncio.run(self.server.serve()), daemon=True)
        self._thread.start()
        deadline = time.monotonic() + 10
        while not self.server.started:
            assert time.monotonic() < deadline, "the server did not start"
            time.sleep(0.02)
        self.port = self.server.servers[0].sockets[0].getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        with urllib.request.urlopen(f"{self.url}/healthz") as answer:
            assert answer.status == 200

    def stop(self) -> None:
        """Close the streams, then the server."""
        self.app.close_soon()
        self.server.should_exit = True
        self._thread.join(10)
        assert not self._thread.is_alive(), "the server did not stop"


# Of a module, not of the session: while it runs, Playwright holds the thread's event loop, and the tests of other
# folders need their own.
@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium; without it the tests fail and say how to get it."""
    if shutil.which(CHROMIUM) is None:
        pytest.fail(f"{CHROMIUM} is missing. As root: apt-get install -y chromium", pytrace=False)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield started
        started.close()


@pytest.fixture
def served() -> Iterator[Served]:
    """A calm station, its clock standing."""
    server = Served(FakeGateway())
    yield server
    server.stop()


def ready(page: Page) -> Page:
    """The same once its script has taken over the forms."""
    expect(page.locator("form[data-act] input[name=command_id]")).to_have_count(0)
    return page


class Windows:
    """Pages of a browser, each with cookies of its own; what goes wrong on one is written down."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._contexts: list[BrowserContext] = []
        self._faults: list[str] = []

    def open(
        self,
        url: str,
        width: int = 1280,
        height: int = 800,
        *,
        scripts: bool = True,
        cookies: Mapping[str, str] | None = None,
    ) -> Page:
        """Another one, at an address."""
        size: ViewportSize = {"width": width, "height": height}
        context = self._browser.new_context(viewport=size, java_script_enabled=scripts)
        self._contexts.append(context)
        given = {name: value for name, value in (cookies or {}).items() if value}
        site = urljoin(url, "/")  # by the whole address they would be those of a part of it
        context.add_cookies([{"name": name, "value": value, "url": site} for name, value in given.items()])
        page = context.new_page()
        watched(page, self._faults)
        page.goto(url)
        return page

    def close(self) -> None:
        """All of them, before the servers that they look at."""
        while self._contexts:
            self._contexts.pop().close()
        assert self._faults == []


Open = Callable[..., Page]
OpenAt = Open


@pytest.fixture
def windows(browser: Browser) -> Iterator[Windows]:
    """Any error on a page fails the test at its end."""
    opened = Windows(browser)
    yield opened
    opened.close()


@pytest.fixture
def open_at(served: Served, windows: Windows) -> OpenAt:
    """Opens a path at a size, as nobody in particular."""

    def opened(path: str = "/station/stove", width: int = 1280, height: int = 800, *, scripts: bool = True) -> Page:
        return windows.open(served.url + path, width, height, scripts=scripts)

    return opened


@pytest.fixture
def open_over(windows: Windows) -> Iterator[Callable[[Gateway], Open]]:
    """Serves a gateway, and opens its pages as somebody."""
    servers: list[Served] = []

    def over(gateway: Gateway) -> Open:
        served = Served(gateway, CoreViews())
        servers.append(served)

        def opened(
            path: str, person: str = "manager", width: int = 1280, height: int = 800, *, scripts: bool = True
        ) -> Page:
            return windows.open(served.url + path, width, height, scripts=scripts, cookies={"person": person})

        return opened

    yield over
    windows.close()
    for served in servers:
        served.stop()


def watched(page: Page, faults: list[str]) -> None:
    """Whatever goes wrong on a page is written down."""
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda m: faults.append(m.text) if "Content Security Policy" in m.text else None)


def until(page: Page, asked: str, seconds: float = 10) -> None:
    """Wait until a function of the page says yes. Playwright's own waiting evaluates text, which the pages forbid."""
    deadline = time.monotonic() + seconds
    while not page.evaluate(asked):
        assert time.monotonic() < deadline, f"not within {seconds} s: {asked}"
        page.wait_for_timeout(50)
