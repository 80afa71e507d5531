"""Orders and machines: what the plan says of each order, and stopping a machine or having it back."""

from datetime import UTC, datetime, timedelta

from flask import Blueprint

from display import panels
from display.changing import onward
from display.panels import Showing
from display.request import page
from display.words import AsPrinted
from orchestrator.core.alarms import look
from orchestrator.core.alarms.undecided_orders import Undecided, undecided
from orchestrator.core.cleaned import in_use
from orchestrator.core.models import Equipment
from orchestrator.core.models.change import ChangeOrder
from orchestrator.core.planning import back_at
from orchestrator.core.views.models import OrderView

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
    told = showing.sentences
    orders = [
        (order, *told.outlook(order), *_chance(showing, order)) for order in showing.views.orders(showing.snapshot)
    ]
    context = {"orders": orders, "backs": taken_to_be_back(showing), "undecided": _undecided(showing)}
    return showing.render("panels/orders.html", context)


def _undecided(showing: Showing) -> list[tuple[Undecided, datetime, str]]:
    """Orders that wait for a decision, with the next day at their hour, and the address at which that is tried."""
    seen = look(showing.snapshot.state, showing.snapshot.facts, showing.now, advise=False)
    found = []
    for one in undecided(seen) if seen is not None else ():
        here, due = showing.kitchen.local(showing.now), showing.kitchen.local(one.order.due)
        day = here.date() + timedelta(days=1)
        moved = datetime.combine(day, due.time(), tzinfo=due.tzinfo).astimezone(UTC)
        change = ChangeOrder(order=one.order.id, due=moved, at_any_time=True)
        found.append((one, moved, onward((change,), "/orders", None)))
    return found


def taken_to_be_back(showing: Showing) -> list[str]:
    """What a chance takes for granted of each machine that stands: when it is back, and whether anybody said so."""
    if not showing.snapshot.state.machines:
        return []  # there may be no kitchen yet
    now, names = showing.now, {machine.id: showing.tell.name(machine.name) for machine in showing.kitchen.equipment}
    return [
        showing.words(
            "chance_back_assumed" if stop.until is None else "chance_back_said",
            machine=names.get(machine, machine),
            time=showing.formats.when(back_at(stop, now), now),
        )
        for machine, stop in showing.snapshot.state.machines.items()
        if stop.until is None or stop.until > now
    ]


def _chance(showing: Showing, order: OrderView) -> tuple[str, list[str]]:
    """How likely it is on time, and what that hangs on; nothing once it is handed over or known to be late."""
    outlook = order.outlook
    if outlook is None or order.handed_over_at is not None or outlook.late_min > 0:
        return "", []
    return showing.sentences.chance(outlook, order.simulated_runs)


def _machines(showing: Showing, _: str) -> str:
    stops = showing.snapshot.state.machines
    machines = sorted(showing.kitchen.equipment, key=lambda machine: machine.id not in stops)
    used = {machine.id: _in_use(showing, machine) for machine in machines}
    later = showing.snapshot.state.by_hand.stops
    context = {"machines": machines, "stops": stops, "stops_later": later, "used": used}
    return showing.render("panels/machines.html", context)


def _in_use(showing: Showing, machine: Equipment) -> tuple[str, bool] | None:
    """Since when a machine is in use without a thorough clean, in words, and whether that is too long."""
    found = in_use(showing.snapshot.state, machine, showing.now)
    if found is None:
        return None
    w, f = showing.words, showing.formats
    if found.since is None or found.until is None or found.verdict is None:
        if found.cleaned_at is None:
            return w("machine_never"), False
        return w("machine_clean", time=f.when(found.cleaned_at, showing.now)), False
    over, until = found.verdict.status == "broken", f.when(found.until, showing.now)
    text = w("machine_own") if found.own else AsPrinted(found.verdict.applied)
    figures = {"since": f.when(found.since, showing.now), "until": until, "every": f.length(found.every_min)}
    return w("machine_over" if over else "machine_in_use", **figures, text=text), over


panels.register("orders", _orders)
panels.register("machines", _machines)
