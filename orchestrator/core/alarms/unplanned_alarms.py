"""Orders that nobody plans: added, or made larger, and then the plan with them was declined or never came."""

from collections.abc import Mapping

from orchestrator.core.alarms.holding_back import held_until
from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.ids import AlarmId, OrderId, RecipeId
from orchestrator.core.models import Order
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority


def unplanned_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """One alarm an order, from when no plan with it waits or is being made until one is adopted, or it is past due.

    Such an order has no outlook, so that nothing else tells of it: the board shows a plan in which all is well.
    """
    planned = look.state.by_hand.planned_orders
    if planned is None or look.state.proposal is not None or _being_planned(look):
        return {}
    known = {order.id: order for order in planned}
    return {
        alarm_id(AlarmKind.ORDER_UNPLANNED, order.id): _facts(order, known.get(order.id))
        for order in look.kitchen.orders.values()
        if order.due > look.now and _asks_more(order, known)
    }


def _being_planned(look: Look) -> bool:
    until = held_until(look.state)
    return until is not None and look.now < until


def _asks_more(order: Order, planned: Mapping[OrderId, Order]) -> bool:
    before = planned.get(order.id)
    if before is None:
        return True
    had = _wanted(before)
    return any(amount > had.get(product, 0.0) + 1e-9 for product, amount in _wanted(order).items())


def _wanted(order: Order) -> dict[RecipeId, float]:
    wanted: dict[RecipeId, float] = {}
    for line in order.lines:
        wanted[line.product] = wanted.get(line.product, 0.0) + line.quantity.value
    return wanted


def _facts(order: Order, before: Order | None) -> AlarmFacts:
    return AlarmFacts(
        kind=AlarmKind.ORDER_UNPLANNED,
        priority=Priority.WARNING,
        title=order.customer,
        orders=(order.id,),
        limit_at=order.due,
        reason="not planned" if before is None else "planned for less",
        helps=(Help.ASK_FOR_PLAN, Help.TELL_CUSTOMER),
    )
