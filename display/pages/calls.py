"""Who is called beyond the kitchen: the list with its channels, whose turn it is, calls of late, and tonight."""

from flask import Blueprint

from display import calling, panels
from display.panels import Showing
from display.request import page
from orchestrator.core.views import calls_view, tonight_view
from orchestrator.core.views.calls import CallsView, TonightView, TurnView

pages = Blueprint("calls", __name__)

LISTED = 30
"""Calls that are listed."""


@pages.get("/calls")
def calls_page() -> str:
    """The list, whether it would reach anybody, and what it did."""
    return page("calls.html")


def _view(showing: Showing) -> CallsView:
    s = showing.snapshot
    return showing.once("calls", lambda: calls_view(s.state, s.facts, s.now))


def _tonight_view(showing: Showing) -> TonightView:
    s = showing.snapshot
    return showing.once("tonight", lambda: tonight_view(s.state, s.facts, s.now))


def _tonight(showing: Showing, when: str) -> str:
    """Nothing while there is nothing to say, unless it is always shown."""
    if showing.snapshot.state.kitchen is None:
        return ""
    view = _tonight_view(showing)
    if not view.say and not when:
        return ""
    return showing.render("panels/tonight.html", {"lines": calling.tonight(showing, view), "warns": view.say})


def _list(showing: Showing, _: str) -> str:
    view = _view(showing)
    return showing.render("panels/call_list.html", {"view": view, "told": calling, "turns": _turns(showing, view)})


def _turns(showing: Showing, view: CallsView) -> list[tuple[str, list[str]]]:
    """Alarms that call, each with who is next, the soonest first."""
    found: dict[str, list[TurnView]] = {}
    for turn in sorted(view.turns, key=lambda one: one.at):
        found.setdefault(turn.alarm, []).append(turn)
    alarms = showing.snapshot.state.alarms
    heads = {str(alarm): showing.sentences.alarm_head(known.facts) for alarm, known in alarms.items()}
    return [(heads[alarm], [calling.turn(showing, one) for one in turns]) for alarm, turns in found.items()]


def _log(showing: Showing, _: str) -> str:
    calls = _view(showing).calls[:LISTED]
    return showing.render("panels/call_log.html", {"calls": calls, "told": calling})


panels.register("tonight", _tonight)
panels.register("call-list", _list)
panels.register("call-log", _log)
