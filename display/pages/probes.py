"""Probes: what each last said, where it sits, what is turned away, and how a reading is sent."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from flask import Blueprint

from display import panels
from display.panels import Showing
from display.request import page
from orchestrator.core.views.models import ProbeView
from orchestrator.ports.event_log import Reading

pages = Blueprint("probes", __name__)

CURVE: Final = timedelta(hours=2)
MOST_POINTS: Final = 240
"""Of a curve as sent; more cannot be seen."""


@pages.get("/probes")
def probes_page() -> str:
    """All of them."""
    return page("probes.html")


@dataclass(frozen=True)
class Trace:
    """Two hours of readings: x 0..100 from two hours ago to now, y 0..100 downward."""

    points: tuple[tuple[float, float], ...]
    low_c: float
    high_c: float
    band: tuple[float, float] | None
    """Where the limits of the place lie, from its upper to its lower one; cut to the drawing."""


def trace(readings: list[Reading], now: datetime, low_c: float | None, high_c: float | None) -> Trace | None:
    """Readings as a line; none without readings. At least 2 °C are drawn, so that noise looks like noise."""
    values = [(r.measured_at, r.celsius) for r in readings if now - CURVE <= r.measured_at <= now]
    if not values:
        return None
    every = max(1, len(values) // MOST_POINTS)
    values = [*values[:-1:every], values[-1]]
    low, high = min(c for _, c in values), max(c for _, c in values)
    spare = max(0.0, 2.0 - (high - low)) / 2 + 0.1 * (high - low)
    bottom, top = low - spare, high + spare

    def y(celsius: float) -> float:
        return round(min(100.0, max(0.0, 100.0 * (top - celsius) / (top - bottom))), 2)

    points = tuple((round(100.0 * (1 - (now - at) / CURVE), 2), y(celsius)) for at, celsius in values)
    band = None
    if high_c is not None:
        band = (y(high_c), y(low_c) if low_c is not None else 100.0)
    return Trace(points, low, high, band)


def _cards(showing: Showing, _: str) -> str:
    views: tuple[ProbeView, ...] = tuple(showing.views.probes(showing.snapshot))
    since = showing.now - CURVE
    cards = []
    for view in views:
        readings = list(showing.gateway.readings(view.probe.id, since, showing.now))
        cards.append((view, trace(readings, showing.now, view.low_c, view.high_c)))
    silent = [view.probe.name for view in views if view.silent_since is not None or view.celsius is None]
    return showing.render("panels/probes.html", {"cards": cards, "silent": silent})


def _rejected(showing: Showing, _: str) -> str:
    snapshot = showing.snapshot
    found = sorted(snapshot.rejected.items(), key=lambda entry: (-entry[1], entry[0]))
    kitchen = snapshot.state.kitchen
    example = str(kitchen.probes[0].id) if kitchen and kitchen.probes else "PROBE"
    host, _colon, port = snapshot.broker_url.partition("://")[2].rpartition(":")
    context = {"found": found, "last": snapshot.rejected_last, "example": example, "host": host, "port": port}
    return showing.render("panels/rejected.html", context)


panels.register("probes", _cards)
panels.register("rejected", _rejected)
