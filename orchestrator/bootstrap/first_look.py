"""Notices when the first page is opened, so that a demo does not run away before anybody looks."""

import threading
import time
from typing import Any

from orchestrator.bootstrap.web_server import ASGIApp

LONGEST_WAIT_S = 20.0
"""Real seconds after which the clock goes although nobody has looked."""
_NOT_PEOPLE = ("/healthz", "/metrics")


class FirstLook:
    """An ASGI application around the screens; `taken` is true from the first page on, or when the wait is over."""

    def __init__(self, longest_s: float = LONGEST_WAIT_S) -> None:
        """Begin to wait; the time counts from `begin`."""
        self._looked = threading.Event()
        self._longest_s = longest_s
        self._until: float | None = None
        self._app: ASGIApp | None = None

    def around(self, app: ASGIApp) -> "FirstLook":
        """Pass on to that application from now on."""
        self._app = app
        return self

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        """Pass on; a request of people or programs ends the wait."""
        if scope["type"] == "http" and scope["path"] not in _NOT_PEOPLE:
            self._looked.set()
        assert self._app is not None
        await self._app(scope, receive, send)

    def close(self) -> None:
        """Close the screens' streams."""
        close = getattr(self._app, "close", None)
        if close is not None:
            close()

    def begin(self) -> None:
        """From now on the clock waits."""
        self._until = time.monotonic() + self._longest_s

    def taken(self) -> bool:
        """Whether the clock may go."""
        return self._looked.is_set() or (self._until is not None and time.monotonic() >= self._until)
