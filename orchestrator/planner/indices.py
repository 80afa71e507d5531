"""From ids to positions, and from instants to whole minutes."""

from datetime import datetime, timedelta
from math import ceil, inf

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, RecipeId, TaskId
from orchestrator.core.models import Batch, Order, PlannedTask, PlanRequest
from orchestrator.planner.demand import Demand
from orchestrator.planner.kitchen_facts import facts_of
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.problem import Place
from orchestrator.planner.supplies import cover

_MINUTE = timedelta(minutes=1)


def floor_min(origin: datetime, instant: datetime) -> int:
    """Whole minutes from origin, rounded down."""
    return (instant - origin) // _MINUTE


def ceil_min(origin: datetime, instant: datetime) -> int:
    """Whole minutes from origin, rounded up."""
    return -((origin - instant) // _MINUTE)


def hundredths(load: float) -> int:
    """A load as the problem counts it: rounded up, so that what fits in hundredths also fits in fact."""
    return ceil(load * 100 - 1e-6)


class Indices:
    """Ids to positions, and instants to minutes."""

    def __init__(self, request: PlanRequest, demand: Demand) -> None:
        """Read them once."""
        self.request, self.demand = request, demand
        kitchen = request.kitchen
        self.origin = kitchen.planning_start
        self.horizon = kitchen.horizon_days * 1440
        self.job: dict[TaskId, int] = {spec.id: i for i, spec in enumerate(demand.specs)}
        self.machine: dict[EquipmentId, int] = {machine.id: i for i, machine in enumerate(kitchen.equipment)}
        self.worker: dict[CrewId, int] = {member.id: i for i, member in enumerate(kitchen.crew)}
        self.actuals = actuals_of(request)
        self.enough = cover(request, demand)
        self.allergens: dict[RecipeId | None, frozenset[str]] = dict(facts_of(kitchen).allergens.items())
        self.previous: dict[TaskId, PlannedTask] = (
            {task.id: task for task in request.previous.tasks} if request.previous else {}
        )
        self.batches: dict[LotCode, Batch] = {batch.lot: batch for batch in demand.batches}
        self.orders: dict[OrderId, Order] = {order.id: order for order in kitchen.orders}
        followed = {link.after for spec in demand.specs for link in spec.links}
        self.last = frozenset(spec.id for spec in demand.specs if spec.order is not None and spec.id not in followed)
        """Work that ends an order line."""
        self.kept_kinds = frozenset(m.kind for m in kitchen.equipment if m.cleaning or m.precool or m.day_end)
        """Kinds of machines to which something is done between runs."""
        self.of_kind: dict[str, list[tuple[int, float, float]]] = {}
        """Machines of each kind, with the least and the most that they take at a time."""
        for index, machine in enumerate(kitchen.equipment):
            most = inf if machine.capacity is None else machine.capacity.value
            least = machine.least.value if machine.least is not None and not machine.shared else 0.0
            self.of_kind.setdefault(machine.kind, []).append((index, least, most))

    def allowed(self, after: TaskId, side: str, task: TaskId | None = None) -> int:
        """By how many minutes a quality window may be missed; without a task, that of a stay, by whoever takes it."""
        mine = (b for b in self.request.allowed if b.after == after and b.side == side and task in (None, b.task))
        return max((named.minutes for named in mine), default=0)

    def skilled(self, skill: str | None) -> tuple[int, ...]:
        """Workers who have a skill; all of them where none is asked for."""
        crew = self.request.kitchen.crew
        return tuple(i for i, member in enumerate(crew) if skill is None or skill in member.skills)

    def place(self, task: PlannedTask) -> Place:
        """Where a plan has a task."""
        return Place(
            start=floor_min(self.origin, task.start),
            end=floor_min(self.origin, task.end),
            machine=self.machine.get(task.equipment) if task.equipment is not None else None,
            workers=tuple(tuple(self.worker[who] for who in span.crew if who in self.worker) for span in task.spans),
        )
