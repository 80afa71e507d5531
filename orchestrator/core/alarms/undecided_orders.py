"""Orders so long past their time that somebody must say what becomes of them: nothing is ever dropped by itself."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.alarms.order_alarms import handed_over_at
from orchestrator.core.ids import AlarmId
from orchestrator.core.models import Order
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority


@dataclass(frozen=True, slots=True)
class Undecided:
    """An order that waits for a decision."""

    order: Order
    tasks: int
    """Of the plan, not begun, that are for it alone."""


def undecided(look: Look) -> tuple[Undecided, ...]:
    """Not handed over so long after their time as the kitchen says, the longest past first."""
    orders = sorted(_long_past(look), key=lambda order: (order.due, order.id))
    mine = {order.id: 0 for order in orders}
    for task in look.waiting_work() if orders else ():
        whose = look.plan.orders_of(task)
        if len(whose) == 1 and whose[0] in mine:
            mine[whose[0]] += 1
    return tuple(Undecided(order, mine[order.id]) for order in orders)


def _long_past(look: Look) -> Iterator[Order]:
    for order in look.kitchen.orders.values() if look.plan.tasks else ():  # before the first plan nothing is late
        if asked_at(look, order) <= look.now and handed_over_at(look, order.id) is None:
            yield order


def asked_at(look: Look, order: Order) -> datetime:
    """From when on somebody is asked about an order that is not handed over."""
    return order.due + timedelta(minutes=look.kitchen.kitchen.warnings.order_undecided)


def undecided_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """One alarm for all of them, with how much of the plan is for them and for nobody else."""
    orders = undecided(look)
    if not orders:
        return {}
    ids = tuple(one.order.id for one in orders)
    hanging = sum(bool(whose) and set(whose) <= set(ids) for whose in map(look.plan.orders_of, look.waiting_work()))
    facts = AlarmFacts(
        kind=AlarmKind.ORDERS_UNDECIDED,
        priority=Priority.WARNING,
        title=orders[0].order.customer,
        orders=ids,
        since=asked_at(look, orders[0].order),
        helps=(Help.DROP_OR_MOVE, Help.TELL_CUSTOMER),
        tasks=hanging,
    )
    return {alarm_id(AlarmKind.ORDERS_UNDECIDED, "all"): facts}
