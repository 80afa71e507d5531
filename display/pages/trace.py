"""A lot traced in both directions, and recall drills against the clock."""

from collections.abc import Sequence

from flask import Blueprint, Response, abort, redirect, request, url_for
from werkzeug.wrappers import Response as WerkzeugResponse

from display import panels
from display.finding import elsewhere
from display.panels import Showing
from display.papers.answers import as_csv
from display.request import page, showing
from orchestrator.core.by_products import is_free
from orchestrator.core.deviations import asked_about
from orchestrator.core.ids import DrillId, LotCode
from orchestrator.core.material import books
from orchestrator.core.views.lots import bought_in_doubt
from orchestrator.core.views.trace import StepView, TraceView, find_lots, trace_view

pages = Blueprint("trace", __name__)


@pages.get("/trace")
def traces_page() -> str | WerkzeugResponse:
    """Find a lot, or what else has that in its name; recall drills. A whole lot code leads to its trace at once."""
    picture = showing()
    state = picture.snapshot.state
    typed = request.args.get("lot", "")[:100]
    lots = find_lots(state, typed)
    if len(lots) == 1 and lots[0].lower() == typed.strip().lower():
        return redirect(url_for("trace.trace_page", lot=lots[0]), 303)
    found = [trace_view(state, lot) for lot in lots[:40]]
    others = elsewhere(picture, typed)
    return page("traces.html", typed=typed, found=found, others=others, drills=list(state.drills.values())[::-1])


@pages.get("/trace/<lot>")
def trace_page(lot: str) -> str:
    """One lot; it prints."""
    picture = showing()
    seen, state = picture.snapshot, picture.snapshot.state
    lots = (*picture.views.lots(seen), *bought_in_doubt(state, seen.facts, seen.now))
    views = {str(view.lot): view for view in lots}
    in_work = [a.lot for a in books(state).accounts.values() if a.how == "in work" and a.lot in views]
    # What is on hold or gone takes nothing more: above all not itself.
    targets = [views[one] for one in in_work if is_free(state, one)]
    trace = _trace(lot)
    shown = dict.fromkeys((trace.lot, *(one.lot for one in trace.standing)))
    asked = {one: found.id for one in shown if (found := asked_about(state, LotCode(one))) is not None}
    return page("trace.html", trace=trace, view=views.get(lot), targets=targets, asked=asked)


@pages.get("/trace/<lot>.csv")
def trace_csv(lot: str) -> Response:
    """The same as CSV (RFC 4180): a row for each step from one lot into another, or to an order."""
    trace = _trace(lot)
    return as_csv(HEAD, rows(trace), f"trace-{trace.lot}")


@pages.get("/drills/<name>")
def drill_page(name: str) -> str:
    """One drill; while it runs, every find is a tap."""
    drill = showing().snapshot.state.drills.get(DrillId(name))
    if drill is None:
        abort(404)
    return page("drill.html", drill=drill)


def _trace(lot: str) -> TraceView:
    try:
        return trace_view(showing().snapshot.state, lot)
    except KeyError:
        abort(404)


HEAD = (
    "direction",
    "step",
    "from_lot",
    "from_name",
    "supplier",
    "into",
    "into_name",
    "customer",
    "amount",
    "unit",
    "at",
    "handed_over",
)


def rows(trace: TraceView) -> list[Sequence[object]]:
    """What the CSV holds: what went in, where it went, and what is left of each lot where."""
    told: list[Sequence[object]] = [_row("in", step) for step in trace.back]
    told += [_row("out", step) for step in trace.forward]
    for one in trace.standing:
        amount = (_rounded(one.left.value), one.left.unit)
        told.append(("left", None, one.lot, one.name, None, one.where, None, None, *amount, None, None))
    return told


def _row(direction: str, step: StepView) -> Sequence[object]:
    names = (step.lot, step.name, step.supplier, step.into, step.into_name, step.customer)
    given = step.handed_over if step.to_order else None
    return (direction, step.depth, *names, _rounded(step.amount.value), step.amount.unit, step.at, given)


def _rounded(value: float) -> float:
    """Six digits: more are left over by dividing, not by weighing."""
    return float(f"{value:.6g}")


def _drill(showing: Showing, name: str) -> str:
    drill = showing.snapshot.state.drills[DrillId(name)]
    ended = drill.ended_at or showing.now
    minutes = max(0.0, (ended - drill.started_at).total_seconds() / 60.0)
    here = [item for item in drill.items if item.order is None]
    given = [item for item in drill.items if item.order is not None]
    context = {"drill": drill, "minutes": minutes, "here": here, "given": given}
    return showing.render("panels/drill.html", context)


panels.register("drill", _drill)
