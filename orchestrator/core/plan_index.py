"""A plan and a kitchen, looked up by id: built once for each plan, since a plan never changes."""

import heapq
from collections import defaultdict
from collections.abc import Container, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Generic, TypeVar

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, ProbeId, RecipeId, StationId, TaskId
from orchestrator.core.models import (
    Batch,
    CrewMember,
    Equipment,
    Kitchen,
    Order,
    Plan,
    PlannedTask,
    Probe,
    Recipe,
    Station,
    Step,
    StockLot,
    Supply,
    TaskKind,
    TaskLink,
)

_T = TypeVar("_T")


class Same(Generic[_T]):
    """Compares by identity, so that a memo need not hash a whole plan; keeps it alive meanwhile."""

    __slots__ = ("thing",)

    def __init__(self, thing: _T) -> None:
        self.thing = thing

    def __hash__(self) -> int:
        return id(self.thing)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.thing is self.thing


@dataclass(frozen=True, slots=True)
class KitchenIndex:
    """A kitchen by id, and when somebody with a skill is free to work."""

    kitchen: Kitchen
    stations: Mapping[StationId, Station]
    equipment: Mapping[EquipmentId, Equipment]
    recipes: Mapping[RecipeId, Recipe]
    """As they are now; as a batch was begun with: `made_by`."""
    revisions: Mapping[tuple[RecipeId, int], Recipe]
    crew: Mapping[CrewId, CrewMember]
    orders: Mapping[OrderId, Order]
    probes_at: Mapping[EquipmentId, tuple[Probe, ...]]
    probes: Mapping[ProbeId, Probe]
    stock: Mapping[LotCode, StockLot]
    supplies: Mapping[str, Supply]
    """By ingredient."""
    hours: Mapping[str, tuple[tuple[datetime, datetime], ...]]
    """By skill: working intervals (shifts less breaks) of everyone who has it, sorted by start."""

    def step(self, task: PlannedTask) -> Step | None:
        """The recipe's step that a task carries out, if there is one."""
        recipe = self.made_by(task)
        if recipe is None or task.step is None:
            return None
        return next((s for s in recipe.steps if s.id == task.step), None)

    def made_by(self, task: PlannedTask) -> Recipe | None:
        """The recipe that a task belongs to, in the revision that its batch was begun with."""
        if task.recipe is None or task.revision is None:
            return self.recipes.get(task.recipe) if task.recipe is not None else None
        return self.revisions.get((task.recipe, task.revision))

    def awaits(
        self,
        task: PlannedTask,
        enough: Container[tuple[TaskId, str]] = (),
        by_now: Mapping[str, Supply] | None = None,
    ) -> Supply | None:
        """The last to come of the ingredients that a task takes; none if all are there from the start.

        Args:
            task: Of a plan of this kitchen.
            enough: Tasks and ingredients of which what is on hand is enough; see `supply_cover`.
            by_now: The supplies as they stand by now, by ingredient; left out, the kitchen's own.
        """
        supplies = self.supplies if by_now is None else by_now
        step = self.step(task) if supplies else None
        takes = step.takes if step is not None else ()
        names = [take.ingredient for take in takes if take.ingredient and (task.id, take.ingredient) not in enough]
        return max((supplies[n] for n in names if n in supplies), key=lambda s: s.ready, default=None)


def working(member: CrewMember) -> list[tuple[datetime, datetime]]:
    """When somebody works: shifts less breaks, in order."""
    found = []
    for shift in member.shifts:
        begins = shift.start
        for pause in sorted(shift.breaks, key=lambda b: b.start):
            if pause.start > begins:
                found.append((begins, pause.start))
            begins = max(begins, pause.end)
        if shift.end > begins:
            found.append((begins, shift.end))
    return sorted(found)


@lru_cache(maxsize=8)
def _kitchen_index(same: Same[Kitchen]) -> KitchenIndex:
    kitchen = same.thing
    hours: dict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
    for member in kitchen.crew:
        for skill in member.skills:
            hours[skill] += working(member)
    at: dict[EquipmentId, list[Probe]] = defaultdict(list)
    for probe in kitchen.probes:
        at[probe.equipment].append(probe)
    return KitchenIndex(
        kitchen=kitchen,
        stations={s.id: s for s in kitchen.stations},
        equipment={e.id: e for e in kitchen.equipment},
        recipes={r.id: r for r in kitchen.recipes},
        revisions={(r.id, r.revision): r for r in (*kitchen.former, *kitchen.recipes)},
        crew={c.id: c for c in kitchen.crew},
        orders={o.id: o for o in kitchen.orders},
        probes_at={e: tuple(ps) for e, ps in at.items()},
        probes={p.id: p for p in kitchen.probes},
        stock={s.lot: s for s in kitchen.stock},
        supplies={s.ingredient: s for s in kitchen.supplies},
        hours={skill: tuple(sorted(spans)) for skill, spans in hours.items()},
    )


def kitchen_index(kitchen: Kitchen) -> KitchenIndex:
    """The kitchen by id; the same kitchen gets the same index."""
    return _kitchen_index(Same(kitchen))


@dataclass(frozen=True, slots=True)
class PlanIndex:
    """A plan by id, with its threads."""

    plan: Plan
    tasks: Mapping[TaskId, PlannedTask]
    order: tuple[TaskId, ...]
    """All tasks so that whatever a task waits for stands before it; by planned start where links allow."""
    followers: Mapping[TaskId, tuple[tuple[TaskId, TaskLink], ...]]
    batches: Mapping[LotCode, Batch]
    lot_orders: Mapping[LotCode, tuple[OrderId, ...]]
    """By lot: the orders that it, or what is made from it, is meant for."""
    lot_tasks: Mapping[LotCode, tuple[TaskId, ...]]
    order_tasks: Mapping[OrderId, tuple[TaskId, ...]]
    """Steps done once per order line, and what waits for the order in a store."""
    at_machine: Mapping[EquipmentId, tuple[PlannedTask, ...]]
    """By machine: what is planned on it, in the plan's order."""
    early: Mapping[frozenset[TaskId], timedelta]
    """How much too early the plan itself, openly, puts one of two tasks after the other."""

    def joined_stays(self, task: PlannedTask) -> list[PlannedTask]:
        """The stays that end as this task starts."""
        found = []
        for link in task.links:
            before = self.tasks.get(link.after)
            if link.most == 0 and before is not None and before.kind is TaskKind.STAY:
                found.append(before)
        return found

    def filler(self, stay: PlannedTask) -> PlannedTask | None:
        """The task whose end begins a stay; none for stock."""
        return next((self.tasks[k.after] for k in stay.links if k.after in self.tasks), None)

    def takers(self, stay: TaskId) -> list[PlannedTask]:
        """The tasks whose start ends a stay."""
        return [self.tasks[t] for t, link in self.followers.get(stay, ()) if link.most == 0]

    def orders_of(self, task: PlannedTask) -> tuple[OrderId, ...]:
        """The orders that a task works for."""
        if task.order is not None:
            return (task.order,)
        if task.kind is TaskKind.STAY:
            takers = self.takers(task.id)
            if takers:
                return tuple(sorted({o for t in takers for o in self.orders_of(t)}))
            if task.id.endswith(".rest"):
                return ()
        return self.lot_orders.get(task.lot, ()) if task.lot else ()


def _sorted_by_links(tasks: Mapping[TaskId, PlannedTask]) -> tuple[TaskId, ...]:
    """Kahn's algorithm, planned start first among those that may come next.

    Source: A. B. Kahn, Topological sorting of large networks, CACM 5 (1962) 558 (from memory).
    """
    waits = {t.id: sum(link.after in tasks for link in t.links) for t in tasks.values()}
    followers: dict[TaskId, list[TaskId]] = defaultdict(list)
    for task in tasks.values():
        for link in task.links:
            followers[link.after].append(task.id)
    ready = [(tasks[t].start, t) for t, n in waits.items() if n == 0]
    heapq.heapify(ready)
    found: list[TaskId] = []
    while ready:
        _, task_id = heapq.heappop(ready)
        found.append(task_id)
        for follower in followers[task_id]:
            waits[follower] -= 1
            if waits[follower] == 0:
                heapq.heappush(ready, (tasks[follower].start, follower))
    return tuple(found)


def _lot_orders(plan: Plan) -> dict[LotCode, tuple[OrderId, ...]]:
    direct: dict[LotCode, set[OrderId]] = defaultdict(set)
    into: dict[LotCode, set[LotCode]] = defaultdict(set)
    for peg in plan.pegs:
        if peg.order is not None:
            direct[peg.lot].add(peg.order)
        if peg.batch is not None:
            into[peg.lot].add(peg.batch)
    found: dict[LotCode, tuple[OrderId, ...]] = {}

    def reach(lot: LotCode, seen: frozenset[LotCode]) -> set[OrderId]:
        orders = set(direct.get(lot, ()))
        for consumer in into.get(lot, ()):
            if consumer not in seen:
                orders |= reach(consumer, seen | {consumer})
        return orders

    for lot in {*direct, *into}:
        found[lot] = tuple(sorted(reach(lot, frozenset({lot}))))
    return found


def _early(plan: Plan) -> dict[frozenset[TaskId], timedelta]:
    named = (b for b in plan.breaks if b.side == "too early")
    return {frozenset((b.task, b.after)): timedelta(minutes=b.minutes) for b in named}


@lru_cache(maxsize=8)
def _plan_index(same: Same[Plan]) -> PlanIndex:
    plan = same.thing
    tasks = {t.id: t for t in plan.tasks}
    followers: dict[TaskId, list[tuple[TaskId, TaskLink]]] = defaultdict(list)
    lot_tasks: dict[LotCode, list[TaskId]] = defaultdict(list)
    order_tasks: dict[OrderId, list[TaskId]] = defaultdict(list)
    at_machine: dict[EquipmentId, list[PlannedTask]] = defaultdict(list)
    orders = {o.order for o in plan.outlooks} | {p.order for p in plan.pegs if p.order}
    for task in plan.tasks:
        for link in task.links:
            followers[link.after].append((task.id, link))
        if task.lot is not None:
            lot_tasks[task.lot].append(task.id)
        if task.equipment is not None:
            at_machine[task.equipment].append(task)
        consumer = OrderId(task.id.rsplit(".", 1)[-1])
        if task.order is not None:
            order_tasks[task.order].append(task.id)
        elif task.kind is TaskKind.STAY and consumer in orders:
            order_tasks[consumer].append(task.id)
    return PlanIndex(
        plan=plan,
        tasks=tasks,
        order=_sorted_by_links(tasks),
        followers={t: tuple(fs) for t, fs in followers.items()},
        batches={b.lot: b for b in plan.batches},
        lot_orders=_lot_orders(plan),
        lot_tasks={lot: tuple(ts) for lot, ts in lot_tasks.items()},
        order_tasks={o: tuple(ts) for o, ts in order_tasks.items()},
        at_machine={e: tuple(ts) for e, ts in at_machine.items()},
        early=_early(plan),
    )


def plan_index(plan: Plan) -> PlanIndex:
    """The plan by id; the same plan gets the same index."""
    return _plan_index(Same(plan))
