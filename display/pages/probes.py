"""Probes: what each last said, where it sits, what is turned away, and how a reading is sent."""

from datetime import timedelta
from typing import Final

from flask import Blueprint

from display import curves, health_words, panels
from display.panels import Showing
from display.request import page
from orchestrator.core.probe_traces import check_due
from orchestrator.core.views.models import ProbeView

pages = Blueprint("probes", __name__)

CURVE: Final = timedelta(hours=2)


@pages.get("/probes")
def probes_page() -> str:
    """All of them."""
    return page("probes.html")


def _cards(showing: Showing, _: str) -> str:
    views: tuple[ProbeView, ...] = tuple(showing.views.probes(showing.snapshot))
    since = showing.now - CURVE
    cards = []
    for view in views:
        readings = showing.readings(view.probe.id, since)
        silence, low, high = view.probe.silent_after, view.low_c, view.high_c
        drawn = curves.trace(readings, since, showing.now, silence, at_least_c=low, at_most_c=high, always=True)
        fact = showing.snapshot.facts.get(view.probe.id)
        due = check_due(showing.snapshot.state, view.probe.id)
        cards.append((view, drawn, health_words.says(showing, fact.health) if fact else [], due))
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
