"""What it changes that the planned days go on."""

from dataclasses import replace

from orchestrator.core.days_events import DaysMoved
from orchestrator.core.models import Kitchen, Plan
from orchestrator.core.past import without
from orchestrator.core.rota import with_days
from orchestrator.core.state import State


def apply(state: State, event: DaysMoved) -> State:
    """Planning begins later; what is over is no part of the kitchen's orders, its stock and its plans any more."""
    kitchen = state.kitchen
    if kitchen is None:
        return state
    tasks, proposal = set(event.tasks), state.proposal
    return replace(
        state,
        past=state.past.with_leavers(kitchen, state.plan, event),
        kitchen=_later(kitchen, event),
        plan=_less(state.plan, event),
        agreed=_less(state.agreed, event),
        proposal=None if proposal is None else replace(proposal, plan=without(proposal.plan, event)),
        acts=tuple(act for act in state.acts if act.task not in tasks),
        by_hand=state.by_hand.without(event.orders, event.lots),
    )


def _less(plan: Plan | None, event: DaysMoved) -> Plan | None:
    return None if plan is None else without(plan, event)


def _later(kitchen: Kitchen, event: DaysMoved) -> Kitchen:
    orders, lots = set(event.orders), set(event.lots)
    return kitchen.model_copy(
        update={
            "begun": kitchen.first_start,
            "planning_start": event.planning_start,
            "horizon_days": event.horizon_days,
            "crew": tuple(with_days(kitchen.crew, event.shifts, event.planning_start)),
            "orders": tuple(order for order in kitchen.orders if order.id not in orders),
            "stock": tuple(stock for stock in kitchen.stock if stock.lot not in lots),
        }
    )
