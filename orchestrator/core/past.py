"""What no plan needs any more: lots of which nothing is left, orders that were handed over. Records still need it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from orchestrator.core.days_events import DaysMoved
from orchestrator.core.ids import LotCode, OrderId, TaskId
from orchestrator.core.models import Batch, Kitchen, Order, Peg, Plan, PlannedTask, StockLot


@dataclass(frozen=True, slots=True)
class Past:
    """As the last plan had it that named it."""

    tasks: Mapping[TaskId, PlannedTask] = field(default_factory=dict)
    batches: Mapping[LotCode, Batch] = field(default_factory=dict)
    pegs: tuple[Peg, ...] = ()
    orders: Mapping[OrderId, Order] = field(default_factory=dict)
    stock: Mapping[LotCode, StockLot] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """Lot codes and order ids that are given to nothing else."""
        return (*self.batches, *self.stock, *self.orders)

    def has(self, lot: LotCode) -> bool:
        """Whether a lot has left the plan: nothing of it is anywhere."""
        return lot in self.batches or lot in self.stock

    def with_leavers(self, kitchen: Kitchen, plan: Plan | None, event: DaysMoved) -> "Past":
        """With all that leaves a kitchen and its plan by an event."""
        lots, orders, tasks = set(event.lots), set(event.orders), set(event.tasks)
        gone = {str(name) for name in (*lots, *orders)}
        batches = plan.batches if plan is not None else ()
        pegs = plan.pegs if plan is not None else ()
        planned = plan.tasks if plan is not None else ()
        return Past(
            tasks={**self.tasks, **{task.id: task for task in planned if task.id in tasks}},
            batches={**self.batches, **{batch.lot: batch for batch in batches if batch.lot in lots}},
            pegs=(*self.pegs, *(peg for peg in pegs if peg.lot in lots or peg.consumer in gone)),
            orders={**self.orders, **{order.id: order for order in kitchen.orders if order.id in orders}},
            stock={**self.stock, **{stock.lot: stock for stock in kitchen.stock if stock.lot in lots}},
        )


def without(plan: Plan, event: DaysMoved) -> Plan:
    """A plan without what leaves it; what stays no longer names it."""
    lots, orders, tasks = set(event.lots), set(event.orders), set(event.tasks)
    gone = {str(name) for name in (*lots, *orders)}
    left = tuple(_unlinked(task, tasks) for task in plan.tasks if task.id not in tasks)
    return plan.model_copy(
        update={
            "start": event.planning_start,
            "batches": tuple(batch for batch in plan.batches if batch.lot not in lots),
            "pegs": tuple(peg for peg in plan.pegs if peg.lot not in lots and peg.consumer not in gone),
            "tasks": left,
            "outlooks": tuple(outlook for outlook in plan.outlooks if outlook.order not in orders),
            "breaks": tuple(named for named in plan.breaks if not tasks & {named.task, named.after}),
            "given_up": tuple(lot for lot in plan.given_up if lot not in lots),
            "let_go": tuple(task for task in plan.let_go if task not in tasks),
        }
    )


def _unlinked(task: PlannedTask, gone: set[TaskId]) -> PlannedTask:
    links = tuple(link for link in task.links if link.after not in gone)
    return task if len(links) == len(task.links) else task.model_copy(update={"links": links})
