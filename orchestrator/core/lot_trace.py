"""Forward through the food: what was made from a lot, and which orders have taken from it."""

from collections.abc import Iterator

from orchestrator.core.ids import LotCode, OrderId
from orchestrator.core.models import Kitchen, Plan, PlannedTask, Process
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.state import State, Taking, TaskStatus


def taken_by(kitchen: Kitchen, plan: Plan, task: PlannedTask) -> Taking | None:
    """Which lots a task takes from as it begins; none when it takes from none.

    A step of a batch takes the components that the recipe names there, from the lots pegged to the batch. The first
    step of an order line takes the product, and each step of it its own components, from the lots pegged to the order.
    """
    known, threads = kitchen_index(kitchen), plan_index(plan)
    step = known.step(task)
    if step is None or (task.lot is None and task.order is None):
        return None
    wanted = {take.component for take in step.takes if take.component is not None}
    if task.lot is None and task.recipe is not None:
        wanted.add(task.recipe)
    lots = []
    for peg in plan.pegs:
        mine = peg.batch == task.lot if task.lot is not None else peg.order == task.order
        source = threads.batches.get(peg.lot) or known.stock.get(peg.lot)
        if mine and source is not None and source.recipe in wanted:
            lots.append(peg.lot)
    into = task.lot if task.lot is not None else task.order
    return Taking(into=str(into), lots=tuple(dict.fromkeys(lots))) if lots else None


def made_from(state: State, lot: LotCode) -> tuple[LotCode, ...]:
    """All lots that food of this one has gone into, directly or through others, nearest first."""
    orders = _order_ids(state)
    found: list[LotCode] = []
    ahead = [lot]
    while ahead:
        source = ahead.pop(0)
        for taking in state.takings.values():
            into = LotCode(taking.into)
            if source in taking.lots and into not in found and into != lot and into not in orders:
                found.append(into)
                ahead.append(into)
    return tuple(found)


def _order_ids(state: State) -> set[str]:
    return {str(order.id) for order in state.kitchen.orders} if state.kitchen is not None else set()


def served(state: State, lots: tuple[LotCode, ...]) -> tuple[OrderId, ...]:
    """Orders that were handed over with food of these lots in them: somebody may have to call the customer."""
    return tuple(sorted({o for o in _orders_of(state, lots) if _handed_over(state, o)}))


def _orders_of(state: State, lots: tuple[LotCode, ...]) -> Iterator[OrderId]:
    orders = _order_ids(state)
    for taking in state.takings.values():
        if taking.into in orders and set(taking.lots) & set(lots):
            yield OrderId(taking.into)


def _handed_over(state: State, order: OrderId) -> bool:
    tasks = state.plan.tasks if state.plan is not None else ()
    last = [t for t in tasks if t.order == order and t.process is Process.HAND_OVER]
    return any(state.record(task.id).status is TaskStatus.DONE for task in last)


def lots_into(state: State, task: PlannedTask) -> tuple[LotCode, ...]:
    """Lots whose food a task handles: its own, those pegged to it, and for an order line all that went into it."""
    found: list[LotCode] = [task.lot] if task.lot is not None else []
    if state.kitchen is None or state.plan is None:
        return tuple(found)
    taking = taken_by(state.kitchen, state.plan, task)
    found += taking.lots if taking is not None else ()
    if task.order is not None and task.lot is None:
        line = [t for t in state.plan.tasks if t.order == task.order and t.recipe == task.recipe and t.lot is None]
        for earlier in line:
            took = state.takings.get(earlier.id)
            found += took.lots if took is not None else ()
    return tuple(dict.fromkeys(found))
