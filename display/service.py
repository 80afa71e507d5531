"""What programs ask of the service itself, alive, ready, counted; and what screens say of themselves.

Answered here in the loop, so that none of it waits for pages. Public are ``/healthz`` (that it lives) and ``/readyz``
(which checks hold, by name). Only this machine may read the reasons of checks, which name folders and addresses; it and
whoever brings a token that may read gets ``/metrics``. What came through a proxy does not count as this machine's.
"""

import json
from collections.abc import Iterator
from typing import Final

from prometheus_client import CollectorRegistry, Gauge, Metric, generate_latest
from prometheus_client.core import CounterMetricFamily
from prometheus_client.registry import Collector

from display.access.asgi import caller_of, turned_away
from display.access.guard import OPEN, Carried, Guard
from display.screens import ScreenBook
from display.streams import Receive, Scope, Send, answer
from display.vital_words import plain
from orchestrator.gateway.door import Gateway
from orchestrator.ports.access import REASONS

PATHS: Final = frozenset({"/healthz", "/readyz", "/metrics", "/screens/seen"})
METRICS_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"
_MOST_TOLD: Final = 1024
"""Bytes that a screen may say of itself."""
_LOOPBACK: Final = frozenset({"127.0.0.1", "::1"})
_BY_PROXY: Final = frozenset({b"forwarded", b"x-forwarded-for", b"x-real-ip", b"via"})


class Refusals(Collector):
    """What was refused at the door, as a counter for each reason."""

    def __init__(self, guard: Guard) -> None:
        """Count what this one refuses."""
        self._guard = guard

    def collect(self) -> Iterator[Metric]:
        """One family, with all reasons from the start."""
        family = CounterMetricFamily("coldwright_refused_acts", "Acts refused at the door.", labels=["reason"])
        for reason in REASONS:
            family.add_metric([reason], self._guard.counts[reason])
        yield family


class Service:
    """A small ASGI application beside the pages."""

    def __init__(self, gateway: Gateway, screens: ScreenBook, guard: Guard) -> None:
        """Args:
        gateway: The one door.
        screens: Where screens are remembered.
        guard: Knows who calls.
        """
        self._gateway = gateway
        self._guard = guard
        self._screens = screens
        self._registry = CollectorRegistry()
        self._streams = Gauge("coldwright_streams_open", "Event streams open.", registry=self._registry)
        self._registry.register(Refusals(guard))
        self._heard = Gauge("coldwright_screens", "Screens by how they are.", ("state",), registry=self._registry)

    async def __call__(self, scope: Scope, receive: Receive, send: Send, *, streams: int) -> None:
        """Answer one request for one of `PATHS`.

        Args:
            scope: As ASGI has it.
            receive: As ASGI has it.
            send: As ASGI has it.
            streams: How many are open.
        """
        wanted = "POST" if scope["path"] == "/screens/seen" else "GET"
        if scope["method"] not in {wanted, "HEAD"}:
            await answer(send, 405, f"Only {wanted} is answered here.".encode())
        elif scope["path"] == "/healthz":
            await self._health(send, streams)
        elif scope["path"] == "/readyz":
            await self._ready(send, reasons=from_here(scope))
        elif scope["path"] == "/metrics":
            await self._metrics(scope, send, streams)
        else:
            await self._seen(scope, receive, send)

    async def _health(self, send: Send, streams: int) -> None:
        """That the loop answers is the whole of it: whoever starts processes again looks here."""
        snapshot = self._gateway.snapshot()
        body = {
            "status": "ok",
            "version": snapshot.version,
            "revision": snapshot.state.revision,
            "streams": streams,
            "practice": snapshot.practice,
        }
        await answer(send, 200, json.dumps(body).encode(), "application/json")

    async def _ready(self, send: Send, *, reasons: bool) -> None:
        vitals = self._gateway.vitals()
        body = {"ready": vitals.ready, "checks": [plain(check, reasons=reasons) for check in vitals.checks]}
        await answer(send, 200 if vitals.ready else 503, json.dumps(body).encode(), "application/json")

    async def _metrics(self, scope: Scope, send: Send, streams: int) -> None:
        if not from_here(scope) and not await self._known(scope):
            says = b"Metrics: ask 127.0.0.1 on this machine, not through a proxy, or bring a token that may read."
            await answer(send, 403, says)
            return
        self._streams.set(streams)
        counts = dict.fromkeys(("shown", "hidden", "silent", "behind"), 0)
        for one in self._screens.standing(self._gateway.snapshot().state.seq):
            counts[one.state] += 1
        for state, count in counts.items():
            self._heard.labels(state).set(count)
        await answer(send, 200, self._gateway.metrics() + generate_latest(self._registry), METRICS_TYPE)

    async def _known(self, scope: Scope) -> bool:
        """Whether somebody known asks; while the service is open, everybody else is nobody."""
        status, _ = await turned_away(self._guard, scope)
        return not status and Carried.of_scope(scope).anything and await caller_of(self._guard, scope) is not OPEN

    async def _seen(self, scope: Scope, receive: Receive, send: Send) -> None:
        if dict(scope["headers"]).get(b"sec-fetch-site", b"same-origin") != b"same-origin":
            await answer(send, 403, b"Screens of this server only.")
            return
        status, why = await turned_away(self._guard, scope)
        if status:
            await answer(send, status, why.encode())
            return
        told = await _body(receive)
        known = told is not None and self._screens.hear(told, self._gateway.snapshot().state.seq)
        await answer(send, 204 if known else 400, b"" if known else b"Say screen, page, seq and state.")


def from_here(scope: Scope) -> bool:
    """Whether this machine itself asks: by the loopback, and not for somebody else as a proxy."""
    host = (scope.get("client") or ("", 0))[0]
    return host in _LOOPBACK and not _BY_PROXY & {name for name, _ in scope["headers"]}


async def _body(receive: Receive) -> bytes | None:
    """What was sent; none when it is too much or broken off."""
    told = b""
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return None
        told += bytes(message.get("body", b""))
        if len(told) > _MOST_TOLD:
            return None
        if not message.get("more_body"):
            return told
