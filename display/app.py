"""The ASGI application: the service itself and event streams answered here, everything else by Flask in threads.

`create_app(gateway)` is all that a server needs. To add a page: a module in `display/pages` with a Flask
blueprint ``pages`` (rendered with `display.web.page`) and its panels registered with `display.panels`;
then name it in `display/pages/__init__.py`.
"""

import logging
from collections.abc import Iterable, Mapping
from functools import partial
from html import escape
from typing import Any, cast

from a2wsgi import WSGIMiddleware

from display import panels
from display.access.asgi import turned_away
from display.access.guard import Guard
from display.access.rules import STREAMS
from display.hub import Hub, Wanted
from display.reader import Reader
from display.screens import SCREENS, ScreenBook
from display.service import PATHS, Service
from display.streams import Receive, Scope, Send, Streams
from display.ticks import TICKS
from display.views import CoreViews, Views
from display.web import create_web
from orchestrator.gateway.door import Gateway, Snapshot

log = logging.getLogger(__name__)

FLASK_THREADS = 8


class Display:
    """The screens of one kitchen, as an ASGI application."""

    def __init__(self, gateway: Gateway, views: Views, guard: Guard | None = None) -> None:
        self.gateway = gateway
        self.guard = guard or Guard(None)
        self.web = create_web(gateway, views, self.guard)
        self._views = views
        self.hub = Hub(self._render_all, self._minute, lambda: gateway.snapshot().state.seq)
        self._kept: dict[Wanted, tuple[_OnRecord, str]] = {}
        self._streams = Streams(self.hub, turned_away=partial(turned_away, self.guard, need=STREAMS))
        self.web.extensions[SCREENS] = screens = ScreenBook()
        self._service = Service(gateway, screens, self.guard)
        self.web.extensions[TICKS].listen(self.hub.changed)
        # Typed by its own names for the same shapes; see the ASGI and WSGI specifications.
        self._pages: Any = WSGIMiddleware(cast(Any, self.web), workers=FLASK_THREADS)
        self._stop_listening = gateway.on_change(self.hub.changed)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or follow the server's life."""
        if scope["type"] == "lifespan":
            await self._live(receive, send)
        elif scope["type"] != "http":
            raise ValueError(f"only HTTP is spoken here, not {scope['type']}")
        elif scope["path"] in PATHS:
            await self._service(scope, receive, send, streams=len(self.hub))
        elif scope["path"] == "/streams" and scope["method"] == "GET":
            await self._streams(scope, receive, send)
        elif scope["path"] == "/api/v1/changes" and scope["method"] == "GET":
            await self._streams.changes(scope, receive, send)
        else:
            await self._pages(scope, receive, send)

    def close(self) -> None:
        """End all streams; call it in the loop before the server is told to stop."""
        self._stop_listening()
        self.hub.close()

    def close_soon(self) -> None:
        """The same, from any thread."""
        self.hub.close_soon()

    async def _live(self, receive: Receive, send: Send) -> None:
        while True:
            message = await receive()
            if message["type"] == "lifespan.startup":
                self.hub.start()
                await send({"type": "lifespan.startup.complete"})
            else:
                self.close()
                await send({"type": "lifespan.shutdown.complete"})
                return

    def _minute(self) -> object:
        return int(self.gateway.snapshot().now.timestamp() // 60)

    def _render_all(self, wanted: Iterable[Wanted]) -> tuple[Mapping[Wanted, str], dict[str, object]]:
        """Runs in the render thread, from one snapshot."""
        snapshot = self.gateway.snapshot()
        rendered: dict[Wanted, str] = {}
        memo: dict[object, object] = {}
        shows: dict[Reader, panels.Showing] = {}
        on_record = _OnRecord(snapshot)
        for reader, key in wanted:
            known = self._kept.get((reader, key))
            if known is not None and known[0].same(on_record):
                rendered[reader, key] = known[1]
                continue
            if reader not in shows:
                shows[reader] = panels.Showing(
                    self.gateway, self._views, snapshot, reader, self.web.jinja_env, memo=memo
                )
            rendered[reader, key] = _rendered(shows[reader], key)
        kept = {one: (on_record, html) for one, html in rendered.items() if panels.of_the_record(one[1])}
        self._kept = {one: old for one, old in self._kept.items() if old[0].same(on_record)} | kept
        clock: dict[str, object] = {
            "now": snapshot.now.timestamp() * 1000,
            "rate": snapshot.rate,
            "version": snapshot.version,
            "seq": snapshot.state.seq,
            "linked": snapshot.linked,
        }
        return rendered, clock


def _rendered(showing: panels.Showing, key: str) -> str:
    try:
        return panels.render_panel(showing, key)
    except Exception:
        log.exception("panel %s could not be rendered", key)
        return f'<p class="fault">{escape(showing.words("panel_fault"))}</p>'


class _OnRecord:
    """What must differ for a panel of the record to be rendered anew: the state, a minute, the clock, the planner."""

    def __init__(self, snapshot: Snapshot) -> None:
        minute = int(snapshot.now.timestamp() // 60)
        self.state = snapshot.state
        self.rest = minute, snapshot.rate, snapshot.linked, snapshot.planning, snapshot.better_plans

    def same(self, other: "_OnRecord") -> bool:
        """States are compared by identity: each is replaced whole."""
        return self.state is other.state and self.rest == other.rest


def create_app(gateway: Gateway, views: Views | None = None, guard: Guard | None = None) -> Display:
    """The screens over a gateway.

    Args:
        gateway: The one door to the kitchen.
        views: Where views come from; left out, from core.
        guard: Who may come in; left out, everybody.
    """
    return Display(gateway, views or CoreViews(), guard)
