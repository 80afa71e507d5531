"""Orders and their outlook by the live plan."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms import Look, look
from orchestrator.core.alarms.order_alarms import handed_over_at, ready_at
from orchestrator.core.models import Order, OrderLine, Outlook
from orchestrator.core.quantities import Unit, minutes_between
from orchestrator.core.state import Facts, State
from orchestrator.core.views.models import OrderView

OFF_PLAN: Final = timedelta(minutes=5)
"""An order that would be ready so much sooner or later than planned no longer has the chance that its plan told."""


def order_views(state: State, facts: Facts, now: datetime) -> tuple[OrderView, ...]:
    """All orders, by due time; none before there is a kitchen."""
    seen = look(state, facts, now)
    return () if seen is None else build_orders(seen)


def build_orders(look: Look) -> tuple[OrderView, ...]:
    """All orders, for builders that already have a look."""
    return tuple(_order(look, o) for o in sorted(look.kitchen.orders.values(), key=lambda o: (o.due, o.id)))


def _order(look: Look, order: Order) -> OrderView:
    return OrderView(
        order=order.id,
        customer=order.customer,
        due=order.due,
        lines=tuple(_line(look, line) for line in order.lines),
        outlook=_outlook(look, order),
        simulated_runs=look.plan.plan.simulated_runs,
        handed_over_at=handed_over_at(look, order.id),
        lots=tuple(dict.fromkeys(p.lot for p in look.plan.plan.pegs if p.order == order.id)),
    )


def _line(look: Look, line: OrderLine) -> str:
    """``3 L basil custard``; pieces without a unit."""
    recipe = look.kitchen.recipes.get(line.product)
    name = recipe.name if recipe else line.product
    unit = "" if line.quantity.unit is Unit.EACH else f" {line.quantity.unit}"
    return f"{round(line.quantity.value, 2):g}{unit} {name[:1].lower()}{name[1:]}"


def _outlook(look: Look, order: Order) -> Outlook | None:
    planned = next((o for o in look.plan.plan.outlooks if o.order == order.id), None)
    ready = ready_at(look, order.id)
    if planned is None or not planned.met or ready is None:
        return planned
    late = max(0, minutes_between(order.due, ready))
    margin = max(0, minutes_between(ready, order.due))
    live: dict[str, object] = {"ready_at": ready, "late_min": late, "margin_min": margin}
    if planned.ready_at is None or abs(ready - planned.ready_at) > OFF_PLAN:
        # The chance was that of another course of things; the next plan tells its own.
        live |= {"chance": None, "chance_low": None, "chance_high": None, "causes": ()}
    return planned.model_copy(update=live)
