"""The planning table: changes collected one by one, looked at together as a difference, and carried out at once."""

from collections import Counter
from dataclasses import dataclass
from urllib.parse import urlencode

from flask import Blueprint, Response, current_app, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.board_groups import OrderRow
from display.changing import TABLE, address, packed, unpacked
from display.pages.board import order_rows
from display.pages.changing import adopting, page_of, told_of
from display.panels import Showing
from display.previews import PREVIEWS, PreviewBook, scenario_of
from display.request import page, showing
from display.stock_form import StockForm, empty, read
from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Move, Outlook
from orchestrator.core.models.change import Change
from orchestrator.core.planning import back_at, plan_request

pages = Blueprint("planning", __name__)

_WAIT_S = 1.0


@dataclass(frozen=True)
class Collected:
    """One of the changes so far."""

    says: str
    without: str
    """Address of the table with this one taken back."""


@pages.get("/planning")
def planning_page() -> Response:
    """What is there, what is changed so far, and what that would come to; nothing is changed by looking."""
    return _table(unpacked(request.args.get("c", "")), empty(showing()))


@pages.post("/planning/stock")
def stock() -> WerkzeugResponse:
    """A lot more on hand, put with the changes so far; or the form again, with its faults."""
    so_far = unpacked(request.form.get(TABLE, ""))
    made = read(showing(), request.form.to_dict(), so_far)
    if made.change is None:
        return _table(so_far, made, 422)
    return redirect(f"/planning?{urlencode({'c': packed((*so_far, made.change))})}#so-far", 303)


def _table(changes: tuple[Change, ...], form: StockForm, status: int = 200) -> Response:
    picture = showing()
    refused = apply(plan_request(picture.snapshot.state, picture.now), changes) if changes else None
    tried = None
    if changes and not isinstance(refused, Refusal):
        book: PreviewBook = current_app.extensions[PREVIEWS]
        tried = book.preview(picture.snapshot, scenario_of(changes), _WAIT_S)
    told = told_of(picture, tried, changes, page_of(changes, "/planning"))
    context = {
        **told,
        **adopting(picture, changes, "/planning"),
        **_there(picture),
        "collected": _collected(picture, changes),
        "table": packed(changes),
        "refused": refused if isinstance(refused, Refusal) else None,
        "difference": _difference(told),
        "form": form,
    }
    return make_response(page("planning.html", **context), status)


def _collected(picture: Showing, changes: tuple[Change, ...]) -> list[Collected]:
    found = []
    for number, change in enumerate(changes):
        rest = (*changes[:number], *changes[number + 1 :])
        query = urlencode({"c": address(rest)["c"]}) if rest else ""
        found.append(Collected(change.says(picture.kitchen), f"/planning?{query}#so-far" if query else "/planning"))
    return found


@dataclass(frozen=True)
class Difference:
    """What the changes do, counted: the tables below say it one by one."""

    late: tuple[str, ...]
    """Customers of orders that are newly late or left out."""
    saved: tuple[str, ...]
    """Of orders that would be on time again."""
    people: tuple[Move, ...]
    """Work that somebody else would do."""
    kinds: tuple[tuple[str, int], ...]
    """Moves by what they are."""


def _difference(told: dict[str, object]) -> Difference | None:
    outcome, rows = told["outcome"], told["rows"]
    if outcome is None or getattr(outcome, "plan", None) is None:
        return None
    moves: tuple[Move, ...] = getattr(outcome, "moves", ())
    late, saved = [], []
    for view, before, after, _ in rows if isinstance(rows, list) else []:
        if _in_time(before) and not _in_time(after):
            late.append(view.customer)
        if before is not None and not _in_time(before) and after is not None and _in_time(after):
            saved.append(view.customer)
    people = tuple(move for move in moves if move.what == "other people")
    return Difference(tuple(late), tuple(saved), people, tuple(Counter(move.what for move in moves).items()))


def _in_time(outlook: Outlook | None) -> bool:
    """An order that is not there cannot be late."""
    return outlook is None or (outlook.met and not outlook.late_min)


def _there(picture: Showing) -> dict[str, object]:
    """What the kitchen has now: orders with outlook and chance, lots on hand, machines that stand, who is away."""
    views = picture.views.orders(picture.snapshot)
    orders: list[tuple[OrderRow, str, list[str]]] = []
    for row in order_rows(picture, tuple(v for v in views if v.handed_over_at is None), None):
        outlook = row.view.outlook
        known = outlook is not None and not outlook.late_min
        chance = picture.sentences.chance(outlook, row.view.simulated_runs) if outlook and known else ("", [])
        orders.append((row, *chance))
    state = picture.snapshot.state
    stopped = {machine: back_at(stop, picture.now) for machine, stop in state.machines.items()}
    lots = [lot for lot in picture.views.lots(picture.snapshot) if lot.status == "free"]
    return {"orders": orders, "stopped": stopped, "lots": lots, "later": state.by_hand.stops}
