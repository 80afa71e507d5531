"""The way in: to each station, the board, the probes; and in PRACTICE the clock, the crew and the troubles."""

from collections.abc import Callable
from typing import Final

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

from display import panels
from display.forms import FormFault, Tapped
from display.panels import Showing
from display.request import Message, back, page, person_id, say, showing
from orchestrator.core.attendance import here
from orchestrator.core.views import duration_views
from orchestrator.gateway.door import PracticeControl

pages = Blueprint("home", __name__)

RATES: Final = (0, 1, 10, 60, 600)
SHOWS: Final = {"probe-silent": "/probes", "door-open": "/probes", "churn-stops": "/board", "late-cook": "/alarms"}
"""Where a trouble is seen first; any other shows among the alarms."""


@pages.get("/")
def home() -> str:
    """One page with all ways."""
    return page("home.html", stations=showing().kitchen.stations, practice=showing().gateway.practice is not None)


@pages.post("/practice/<what>")
def practise(what: str) -> Response | tuple[str, int]:
    """Set the clock or the crew, jump, or let a trouble happen; only in PRACTICE."""
    picture = showing()
    w, control = picture.words, picture.gateway.practice
    if control is None:
        return page("fault.html", title=w("not_practice"), remedy=w("not_practice_remedy")), 404
    carry_out = PRACTICES.get(what)
    if carry_out is None:
        return page("fault.html", title=w("not_found"), remedy=w("not_found_remedy")), 404
    try:
        says = carry_out(control, Tapped(request.form, picture, person_id()), picture)
    except FormFault as fault:
        say(Message("refused", fault.says, fault.remedy))
    else:
        say(Message("done", says))
    return redirect(back(), 303)


def _rate(control: PracticeControl, form: Tapped, picture: Showing) -> str:
    control.set_rate(float(form.number("rate", 0, 3600, example="60")))
    return picture.words("done_rate")


def _jump(control: PracticeControl, form: Tapped, picture: Showing) -> str:
    control.jump()
    return picture.words("done_jump")


def _crew(control: PracticeControl, form: Tapped, picture: Showing) -> str:
    control.set_crew(form.yes_or_no("on"))
    return picture.words("done_crew")


def _trouble(control: PracticeControl, form: Tapped, picture: Showing) -> str:
    titles = {key: title for key, title, _ in control.troubles()}
    key = form.choice("trouble", list(titles))
    control.plant(key)
    return picture.words("done_trouble", title=titles[key])


PRACTICES: Final[dict[str, Callable[[PracticeControl, Tapped, Showing], str]]] = {
    "rate": _rate,
    "jump": _jump,
    "crew": _crew,
    "trouble": _trouble,
}


def _ways(showing: Showing, _: str) -> str:
    state = showing.snapshot.state
    orders = list(showing.views.orders(showing.snapshot))
    counts = {
        "alarms": len(state.alarms),
        "lots": sum(1 for lot in showing.views.lots(showing.snapshot) if lot.status == "on hold"),
        "orders": sum(1 for order in orders if showing.sentences.outlook(order)[1]),
        "machines": len(state.machines),
        "recipes": len(state.kitchen.recipes) if state.kitchen else 0,
        "crew": len(here(state.kitchen, state.attendance, showing.now)) if state.kitchen else 0,
        "calls": len(state.kitchen.calls.people) if state.kitchen else 0,
        "mix": len(state.kitchen.recipes) if state.kitchen else 0,
        "durations": sum(1 for v in duration_views(state) if v.learned is not None and v.learned.figures != v.present),
    }
    counts["system"] = len(showing.gateway.vitals().amiss)
    return showing.render("panels/ways.html", {"counts": counts})


def pace(showing: Showing) -> str:
    """How fast the clock goes, in plain words: 'one kitchen hour passes in 1 min'."""
    w, rate = showing.words, showing.snapshot.rate
    if not rate:
        return w("practice_waits" if showing.snapshot.planning else "practice_paused")
    if 0.95 < rate < 1.05:
        return w("practice_rate_real")
    seconds = 3600 / rate
    length = w("rate_second", count=round(seconds)) if seconds < 59 else showing.formats.length(seconds / 60)
    return w("practice_rate_hour", length=length)


def _practice(showing: Showing, _: str) -> str:
    control = showing.gateway.practice
    if control is None:
        return ""
    troubles = [
        (
            key,
            title,
            planted,
            SHOWS.get(key, "/alarms"),
            showing.words(f"trouble_where_{key if key in SHOWS else 'other'}"),
        )
        for key, title, planted in control.troubles()
    ]
    context = {"rates": RATES, "pace": pace(showing), "crew_on": control.crew_on(), "troubles": troubles}
    return showing.render("panels/practice.html", context)


panels.register("ways", _ways)
panels.register("practice", _practice)
