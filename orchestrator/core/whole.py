"""A state as if nothing had ever left the plan: what records, traces and books read."""

from dataclasses import replace
from functools import lru_cache

from orchestrator.core.models import Kitchen, Plan
from orchestrator.core.past import Past
from orchestrator.core.plan_index import Same
from orchestrator.core.state import State


def whole(state: State) -> State:
    """The state with lots, orders and tasks of former days beside those of the plan; itself where there are none."""
    return state if not state.past.tasks and not state.past.names else _whole(Same(state))


@lru_cache(maxsize=4)
def _whole_plan(plan: Same[Plan], past: Same[Past]) -> Plan:
    here, gone = plan.thing, past.thing
    return here.model_copy(
        update={
            "batches": (*gone.batches.values(), *here.batches),
            "pegs": (*gone.pegs, *here.pegs),
            "tasks": (*gone.tasks.values(), *here.tasks),
        }
    )


@lru_cache(maxsize=4)
def _whole_kitchen(kitchen: Same[Kitchen], past: Same[Past]) -> Kitchen:
    here, gone = kitchen.thing, past.thing
    return here.model_copy(
        update={"orders": (*gone.orders.values(), *here.orders), "stock": (*gone.stock.values(), *here.stock)}
    )


@lru_cache(maxsize=4)
def _whole(same: Same[State]) -> State:
    state = same.thing
    plan, kitchen, past = state.plan, state.kitchen, Same(state.past)
    return replace(
        state,
        plan=None if plan is None else _whole_plan(Same(plan), past),
        kitchen=None if kitchen is None else _whole_kitchen(Same(kitchen), past),
        past=Past(),
    )
