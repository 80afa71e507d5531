"""Orders and machines: what the plan says of each order, and stopping a machine or having it back."""

from flask import Blueprint

from display import panels
from display.panels import Showing
from display.request import page

pages = Blueprint("desk", __name__)


@pages.get("/orders")
def orders_page() -> str:
    """All orders with their outlook."""
    return page("orders.html")


@pages.get("/machines")
def machines_page() -> str:
    """All machines."""
    return page("machines.html")


def _orders(showing: Showing, _: str) -> str:
    orders = [(order, *showing.sentences.outlook(order)) for order in showing.views.orders(showing.snapshot)]
    return showing.render("panels/orders.html", {"orders": orders})


def _machines(showing: Showing, _: str) -> str:
    stops = showing.snapshot.state.machines
    machines = sorted(showing.kitchen.equipment, key=lambda machine: machine.id not in stops)
    return showing.render("panels/machines.html", {"machines": machines, "stops": stops})


panels.register("orders", _orders)
panels.register("machines", _machines)
