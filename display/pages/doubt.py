"""Deviations, and places that failed with food in them: what was wrong, what was done, one decision about each lot."""

from datetime import datetime, timedelta
from typing import Final

from flask import Blueprint, abort

from display import curves, panels, record_steps
from display.panels import Showing
from display.request import page, showing
from orchestrator.core.decide.machines import POWER_CUT
from orchestrator.core.deviations import open_deviations, undecided
from orchestrator.core.ids import DeviationId
from orchestrator.core.models.deviation import ACTS
from orchestrator.core.views import place_views
from orchestrator.core.views.doubt import PlaceView

pages = Blueprint("doubt", __name__)

BEFORE: Final = timedelta(hours=1)
"""So much is shown of a curve from before the place failed."""
LONGEST: Final = timedelta(days=3)
"""Of a curve; a place that failed longer ago has its record."""
Drawn = tuple[str, curves.Trace | None, datetime]
Above = tuple[float, record_steps.Outside | None]


@pages.get("/deviations")
def deviations_page() -> str:
    """All of them, open ones first."""
    return page("deviations.html")


@pages.get("/deviations/<name>")
def deviation_page(name: str) -> str:
    """One deviation, from its opening to its end; it prints."""
    deviation = showing().snapshot.state.deviations.get(DeviationId(name))
    if deviation is None:
        abort(404)
    return page("deviation.html", deviation=deviation)


@pages.get("/places")
def places_page() -> str:
    """All cold places at once, as after a power cut."""
    return page("places.html", equipment="", name="")


@pages.get("/places/<equipment>")
def place_page(equipment: str) -> str:
    """One place that failed, with every lot in it."""
    names = {str(machine.id): machine.name for machine in showing().kitchen.equipment}
    if equipment not in names:
        abort(404)
    return page("places.html", equipment=equipment, name=names[equipment])


def _deviation(showing: Showing, name: str) -> str:
    state = showing.snapshot.state
    deviation = state.deviations[DeviationId(name)]
    names = {view.lot: view.name for view in showing.views.lots(showing.snapshot)}
    context = {"left": undecided(state, deviation), "names": names, "acts": ACTS}
    return showing.render("panels/deviation.html", {"deviation": deviation, **context})


def _deviations(showing: Showing, _: str) -> str:
    state = showing.snapshot.state
    told = [(deviation, undecided(state, deviation)) for deviation in reversed(tuple(state.deviations.values()))]
    return showing.render(
        "panels/deviations.html",
        {"open": [t for t in told if t[0].open], "closed": [t for t in told if not t[0].open]},
    )


def _places(showing: Showing, only: str) -> str:
    snapshot = showing.snapshot
    views = showing.once("places", lambda: place_views(snapshot.state, snapshot.facts, snapshot.now))
    wanted = [view for view in views if not only or view.equipment == only]
    places = [(view, *_curves(showing, view)) for view in wanted]
    cut = any(stop.reason == POWER_CUT for stop in snapshot.state.machines.values())
    # Phones have no minus sign on their number pads, and frozen food is below zero.
    return showing.render("panels/places.html", {"places": places, "only": only, "cut": cut, "keys": "text"})


def _curves(showing: Showing, view: PlaceView) -> tuple[list[Drawn], list[Above]]:
    """What the probes of a place said since before it failed: those in the food before those in its air."""
    if view.since is None:
        return [], []
    since = max(view.since - BEFORE, showing.now - LONGEST)
    drawn: list[Drawn] = []
    above: list[Above] = []
    probes = [p for p in showing.kitchen.probes if p.equipment == view.equipment]
    for probe in sorted(probes, key=lambda p: p.reads != "core"):
        readings = showing.readings(probe.id, since)
        most = view.high_c if probe.reads == "air" else view.good_c
        silence = probe.silent_after
        trace = curves.trace(readings, since, showing.now, silence, at_most_c=most, target_c=None, always=True)
        drawn.append((probe.name, trace, since))
        limits = sorted({limit for limit in (view.high_c, view.good_c) if limit is not None})
        bounds = (record_steps.Bounds(at_most_c=limit) for limit in limits)
        above += [(b.at_most_c or 0.0, record_steps.outside(readings, b, silence)) for b in bounds]
    return drawn, above


def open_counts(showing: Showing) -> tuple[int, int]:
    """Open deviations, and lots in places that failed about which somebody must still decide."""
    state = showing.snapshot.state
    found = open_deviations(state)
    asked = {lot for d in found if d.facts.asked for lot in undecided(state, d)}
    return len(found), len(asked)


panels.register("deviation", _deviation)
panels.register("deviations", _deviations)
panels.register("places", _places)
