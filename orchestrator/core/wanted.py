"""How much of each ingredient work takes, at the size of its batch or of its order line."""

from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, PlannedTask, TaskKind
from orchestrator.core.plan_index import PlanIndex, kitchen_index, plan_index
from orchestrator.core.quantities import Unit
from orchestrator.core.state import State, TaskStatus


def wanted(kitchen: Kitchen, threads: PlanIndex, task: PlannedTask) -> dict[tuple[str, Unit], float]:
    """How much of each ingredient a task takes, at the size of its batch or of its order line."""
    step = kitchen_index(kitchen).step(task) if task.kind is TaskKind.WORK else None
    found: dict[tuple[str, Unit], float] = {}
    for take in step.takes if step is not None else ():
        if take.ingredient is not None:
            key = (take.ingredient, take.amount.unit)
            found[key] = found.get(key, 0.0) + take.amount.value * _scale(kitchen, threads, task)
    return found


def _scale(kitchen: Kitchen, threads: PlanIndex, task: PlannedTask) -> float:
    batch = threads.batches.get(task.lot) if task.lot is not None else None
    if batch is not None:
        return batch.scale
    order = kitchen_index(kitchen).orders.get(task.order) if task.order is not None else None
    recipe = kitchen_index(kitchen).recipes.get(task.recipe or RecipeId(""))
    lines = order.lines if order is not None else ()
    total = sum(line.quantity.value for line in lines if line.product == task.recipe)
    return total / recipe.yields.value if recipe is not None and total else 1.0


def taken_without_lot(state: State, ingredient: str, unit: Unit) -> float:
    """How much of an ingredient the plan's work has taken of which no lot is on record."""
    if state.plan is None or state.kitchen is None:
        return 0.0
    threads, total = plan_index(state.plan), 0.0
    for task in state.plan.tasks:
        if state.record(task.id).status in (TaskStatus.WAITING, TaskStatus.SKIPPED):
            continue
        amount = wanted(state.kitchen, threads, task).get((ingredient, unit), 0.0)
        uses = state.pantry.uses.get(task.id, ()) if amount else ()
        named = sum(u.quantity.value for u in uses if u.ingredient == ingredient and u.quantity.unit is unit)
        total += max(0.0, amount - named)
    return total


def still_wanted(state: State, ingredient: str, unit: Unit) -> float:
    """How much of an ingredient work of the plan takes that has not begun, in ``unit``."""
    if state.plan is None or state.kitchen is None:
        return 0.0
    threads = plan_index(state.plan)
    waiting = (task for task in state.plan.tasks if state.record(task.id).status is TaskStatus.WAITING)
    return sum(wanted(state.kitchen, threads, task).get((ingredient, unit), 0.0) for task in waiting)
