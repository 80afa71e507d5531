"""A plan and its request, indexed for the rules of the checker."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, RecipeId, TaskId
from orchestrator.core.models import (
    Actual,
    Batch,
    CrewMember,
    Duration,
    Equipment,
    Kitchen,
    Order,
    Peg,
    Plan,
    PlannedTask,
    PlanRequest,
    Recipe,
    StockLot,
    TaskKind,
    Violation,
)

MINUTE = timedelta(minutes=1)
NOTHING = timedelta(0)
EPSILON = 0.011
"""Amounts are compared to a hundredth of their unit: the planner counts hundredths."""


def minutes(delta: timedelta) -> int:
    """Whole minutes, rounded to the nearest."""
    return round(delta.total_seconds() / 60)


@dataclass(frozen=True)
class Book:
    """Everything the rules look up. Built once for a check."""

    plan: Plan
    request: PlanRequest

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen of the request."""
        return self.request.kitchen

    @cached_property
    def tasks(self) -> Mapping[TaskId, PlannedTask]:
        """Tasks of the plan by id."""
        return {task.id: task for task in self.plan.tasks}

    @cached_property
    def actuals(self) -> Mapping[TaskId, Actual]:
        """What has happened, by task."""
        return {actual.task: actual for actual in self.request.actuals}

    @cached_property
    def recipes(self) -> Mapping[RecipeId, Recipe]:
        """Recipes by id."""
        return {recipe.id: recipe for recipe in self.kitchen.recipes}

    @cached_property
    def equipment(self) -> Mapping[EquipmentId, Equipment]:
        """Machines by id."""
        return {machine.id: machine for machine in self.kitchen.equipment}

    @cached_property
    def crew(self) -> Mapping[CrewId, CrewMember]:
        """Crew by id."""
        return {member.id: member for member in self.kitchen.crew}

    @cached_property
    def orders(self) -> Mapping[OrderId, Order]:
        """Orders by id."""
        return {order.id: order for order in self.kitchen.orders}

    @cached_property
    def batches(self) -> Mapping[LotCode, Batch]:
        """Batches by lot."""
        return {batch.lot: batch for batch in self.plan.batches}

    @cached_property
    def stock(self) -> Mapping[LotCode, StockLot]:
        """Stock on hand by lot."""
        return {lot.lot: lot for lot in self.kitchen.stock}

    @cached_property
    def gone(self) -> frozenset[LotCode]:
        """Lots that no task may use: on hold, lost, or openly given up by the plan."""
        return frozenset((*self.request.held_lots, *self.request.lost_lots, *self.plan.given_up))

    @cached_property
    def pegs_of(self) -> Mapping[LotCode, tuple[Peg, ...]]:
        """Pegs by the lot they take from."""
        found: dict[LotCode, list[Peg]] = defaultdict(list)
        for peg in self.plan.pegs:
            found[peg.lot].append(peg)
        return {lot: tuple(pegs) for lot, pegs in found.items()}

    @cached_property
    def followers(self) -> Mapping[TaskId, tuple[PlannedTask, ...]]:
        """Tasks that have a link to this one."""
        found: dict[TaskId, list[PlannedTask]] = defaultdict(list)
        for task in self.plan.tasks:
            for link in task.links:
                found[link.after].append(task)
        return {task: tuple(after) for task, after in found.items()}

    @cached_property
    def revisions(self) -> Mapping[tuple[RecipeId, int], Recipe]:
        """Recipes by id and revision, those that were replaced too."""
        return {(recipe.id, recipe.revision): recipe for recipe in (*self.kitchen.former, *self.kitchen.recipes)}

    def made_by(self, batch: Batch) -> Recipe | None:
        """The recipe in the revision that a batch was begun with, if that is known."""
        return self.revisions.get((batch.recipe, batch.revision))

    def of_task(self, task: PlannedTask) -> Recipe | None:
        """The recipe of a task, in the revision of its batch."""
        batch = self.batches.get(task.lot) if task.lot is not None else None
        known = self.made_by(batch) if batch is not None else None
        return known or (self.recipes.get(task.recipe) if task.recipe is not None else None)

    def recipe_of(self, lot: LotCode) -> Recipe | None:
        """The recipe a lot was made by, if both are known."""
        batch, stock = self.batches.get(lot), self.stock.get(lot)
        if batch is not None:
            return self.made_by(batch) or self.recipes.get(batch.recipe)
        return self.recipes.get(stock.recipe) if stock is not None else None

    def status(self, task: PlannedTask) -> str:
        """``waiting``, ``in hand``, ``done`` or ``skipped``."""
        actual = self.actuals.get(task.id)
        return "waiting" if actual is None else actual.status

    def movable(self, task: PlannedTask) -> bool:
        """Whether the plan still decides when and where the task starts.

        What has begun is a fact; so is a stay of stock on hand, and one whose filling task is done. A stay that says of
        no task that it is filled by it is neither: it lacks a link.
        """
        # Asked some thirty times of each task, and a repair waits for the check. By identity: two may share an id.
        known = self._movable.get(id(task))
        if known is None:
            known = self._movable[id(task)] = self._is_movable(task)
        return known

    @cached_property
    def _movable(self) -> dict[int, bool]:
        return {}

    def _is_movable(self, task: PlannedTask) -> bool:
        if task.id in self.actuals:
            return False
        if task.kind is not TaskKind.STAY:
            return True
        if not task.links:
            return task.lot not in self.stock
        fills = [self.actuals.get(link.after) for link in task.links]
        return any(fill is None or fill.status == "in hand" for fill in fills)

    @cached_property
    def begun(self) -> frozenset[str]:
        """Lots and orders of which some step of work has begun."""
        work = (t for t in self.before.values() if t.kind is TaskKind.WORK)
        return frozenset(str(t.lot or t.order) for t in work if t.id in self.actuals)

    @cached_property
    def before(self) -> Mapping[TaskId, PlannedTask]:
        """Tasks of the adopted plan by id."""
        previous = self.request.previous
        return {task.id: task for task in previous.tasks} if previous is not None else {}

    def own_figures(self, task: PlannedTask) -> Duration | None:
        """Minutes that a waiting task keeps because its lot or order has begun; none where the recipe decides."""
        before = self.before.get(task.id) if str(task.lot or task.order) in self.begun else None
        return before.duration if before is not None and before.quantity == task.quantity else None

    def counts(self, *tasks: PlannedTask) -> bool:
        """Whether a fault among these tasks is the plan's: at least one of them can still be moved."""
        return any(self.movable(task) for task in tasks)

    def slack(self, *tasks: PlannedTask) -> timedelta:
        """Allowed difference: facts have seconds, while the planner counts whole minutes."""
        return NOTHING if all(self.movable(task) for task in tasks) else MINUTE

    def running(self) -> Iterable[PlannedTask]:
        """Tasks that take up machines: all but those skipped before they began.

        A run whose food was discarded half way has been in its machine all the same.
        """
        return self._running

    @cached_property
    def _running(self) -> tuple[PlannedTask, ...]:
        return tuple(task for task in self.plan.tasks if not self._never_begun(task))

    @cached_property
    def _on(self) -> Mapping[EquipmentId | None, tuple[PlannedTask, ...]]:
        """Running tasks by their machine, in the order of the plan."""
        found: dict[EquipmentId | None, list[PlannedTask]] = defaultdict(list)
        for task in self._running:
            found[task.equipment].append(task)
        return {machine: tuple(tasks) for machine, tasks in found.items()}

    def on_machine(self, machine: Equipment) -> tuple[list[PlannedTask], list[PlannedTask]]:
        """Runs on a machine, and its cleans, each in time."""
        on = sorted(self._on.get(machine.id, ()), key=lambda task: task.start)
        return [task for task in on if task.kind is TaskKind.WORK], [task for task in on if task.cleans]

    def upkeep_of(self, machine: Equipment) -> list[PlannedTask]:
        """Cleans and pre-cools of a machine."""
        return [task for task in self._on.get(machine.id, ()) if task.kind is TaskKind.CLEAN]

    def planned_length(self, task: PlannedTask) -> timedelta:
        """How long a task lasts by the plan, whatever it took in fact."""
        return task.end - task.start if self.movable(task) else timedelta(minutes=task.duration.usual)

    def _never_begun(self, task: PlannedTask) -> bool:
        actual = self.actuals.get(task.id)
        return actual is not None and actual.status == "skipped" and actual.end <= actual.start

    def allergens(self, recipe: Recipe, above: frozenset[RecipeId] = frozenset()) -> set[str]:
        """Of a recipe with all its components."""
        found = set(recipe.allergens)
        for step in recipe.steps:
            for take in step.takes:
                found |= set(take.allergens)
                part = self.recipes.get(take.component) if take.component is not None else None
                if part is not None and part.id not in above:
                    found |= self.allergens(part, above | {recipe.id})
        return found

    def clock(self, instant: datetime) -> str:
        """An instant on the kitchen's own clock, for people."""
        return self.kitchen.when(instant)


def fault(rule: str, says: str, *tasks: PlannedTask | TaskId) -> Violation:
    """A violation of ``rule`` by these tasks."""
    return Violation(
        rule=rule, tasks=tuple(task.id if isinstance(task, PlannedTask) else task for task in tasks), says=says
    )
