"""The planning table's orders: one more, another one, one less, and many at once from a table of text."""

from flask import Blueprint, Response, abort, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display import panels
from display.changing import TABLE, address, onward, unpacked
from display.order_form import OrderForm, empty, products, read
from display.panels import Showing
from display.request import page, showing
from orchestrator.core.ids import OrderId
from orchestrator.core.models import Order
from orchestrator.core.models.change import AddOrder, Change, ChangeOrder, DropOrder
from orchestrator.core.order_table import COLUMNS, NEEDED, read_orders
from orchestrator.core.planning import plan_request

pages = Blueprint("ordering", __name__)


def _preview(*changes: Change) -> WerkzeugResponse:
    return redirect(onward(changes, "/orders", request.form.get(TABLE)), 303)


def _known(name: str) -> Order:
    order = next((o for o in showing().kitchen.orders if o.id == name), None)
    if order is None:
        abort(404)
    return order


def _form(made: OrderForm, order: Order | None, status: int = 200) -> Response:
    recipes = products(showing())
    return make_response(page("order_form.html", form=made, order=order, products=recipes), status)


def _typed_before() -> Change | None:
    """What the preview was about from which somebody comes back."""
    changes = unpacked(request.args.get("c", ""))
    return changes[0] if len(changes) == 1 else None


@pages.get("/orders/new")
def new_page() -> Response:
    """An empty form, or one that is gone on with."""
    before = _typed_before()
    return _form(empty(showing(), before.order if isinstance(before, AddOrder) else None), None)


@pages.post("/orders/new")
def add() -> WerkzeugResponse:
    """What it would come to; or the form again, with its faults."""
    made = read(showing(), request.form.to_dict(), None)
    if made.change is None:
        return _form(made, None, 422 if made.faults else 200)
    return _preview(made.change)


@pages.get("/orders/<name>/change")
def change_page(name: str) -> Response:
    """An order as it is, to be changed; or as somebody has just changed it."""
    order = _known(name)
    before = _typed_before()
    shown = order
    if isinstance(before, ChangeOrder) and before.order == order.id:
        told = before.model_dump(include={"due", "earliest", "weight", "lines", "customer"}, exclude_none=True)
        earliest = {"earliest": None} if before.at_any_time else {}
        shown = Order.model_validate({**order.model_dump(), **told, **earliest})
    return _form(empty(showing(), shown), order)


@pages.post("/orders/<name>/change")
def change(name: str) -> WerkzeugResponse:
    """What it would come to; or the form again, with its faults."""
    order = _known(name)
    made = read(showing(), request.form.to_dict(), order)
    if made.change is None:
        return _form(made, order, 422 if made.faults else 200)
    return _preview(made.change)


@pages.post("/orders/<name>/drop")
def drop(name: str) -> WerkzeugResponse:
    """What it would come to without an order."""
    return _preview(DropOrder(order=OrderId(_known(name).id)))


@pages.get("/orders/table")
def table_page() -> str:
    """Where a table is pasted, or a file picked."""
    return page("order_table.html", text="", faults=(), needed=NEEDED, columns=COLUMNS, replace=False, same=0)


@pages.post("/orders/table")
def table() -> WerkzeugResponse:
    """What the table would come to; or every fault, and nothing taken over."""
    picture = showing()
    text, replace = request.form.get("text", ""), request.form.get("replace") == "yes"
    file = request.files.get("file")
    garbled = False
    if file is not None and file.filename:
        try:
            text = file.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            garbled = True
    told = read_orders(text, plan_request(picture.snapshot.state, picture.now), replace=replace)
    if not garbled and told.changes:
        return _preview(*told.changes)
    context = {"text": text, "faults": () if garbled else told.faults, "replace": replace, "same": told.same}
    return make_response(page("order_table.html", **context, garbled=garbled, needed=NEEDED, columns=COLUMNS), 422)


def _by_hand(showing: Showing, _: str) -> str:
    """What was changed by hand of late, newest first; an order that was left out can be added again."""
    kitchen = showing.snapshot.state.kitchen  # there may be none yet
    orders = {order.id for order in kitchen.orders} if kitchen is not None else set()
    entries = [
        (entry, [(order, address([AddOrder(order=order)])["c"]) for order in entry.dropped if order.id not in orders])
        for entry in reversed(showing.snapshot.state.by_hand.entries[-12:])
    ]
    return showing.render("panels/by_hand.html", {"entries": entries})


panels.register("by-hand", _by_hand)
