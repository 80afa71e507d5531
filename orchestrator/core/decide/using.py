"""Which lot of an ingredient goes into what a task makes: the open one by itself, another because somebody says so."""

from datetime import datetime

from orchestrator.core.decide.case import Case, Decision
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import RecipeId
from orchestrator.core.models import Kitchen, PlannedTask, TaskKind
from orchestrator.core.models.stock import IngredientUse
from orchestrator.core.plan_index import PlanIndex, kitchen_index
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import TaskStatus
from orchestrator.core.stock_commands import UseLot
from orchestrator.core.stock_events import IngredientUsed


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


def lots_used(case: Case, task: PlannedTask, at: datetime) -> tuple[IngredientUsed, ...]:
    """What the books take it to use as it begins: what is to be used first, then the next; nothing that nobody
    received."""
    uses: list[IngredientUse] = []
    for (ingredient, unit), amount in wanted(case.kitchen, case.threads, task).items():
        left = amount
        for lot in case.state.pantry.open_lots(ingredient, at, unit):
            part = min(left, case.state.pantry.left(lot.id))
            if part > 0:
                quantity = Quantity(value=part, unit=unit)
                uses.append(IngredientUse(lot=lot.id, ingredient=ingredient, quantity=quantity))
                left -= part
    if not uses:
        return ()
    names = tuple(dict.fromkeys(use.ingredient for use in uses))
    return (IngredientUsed(task=task.id, at=at, person=case.person, ingredients=names, uses=tuple(uses)),)


def use_lot(case: Case, command: UseLot) -> Decision | Refusal:
    """All that a begun task takes of an ingredient comes from this lot."""
    task = case.threads.tasks.get(command.task) if case.plan is not None else None
    lot = case.state.pantry.lots.get(command.lot)
    if task is None or lot is None:
        status = "not in the present plan" if task is None else "no such delivery"
        thing = command.task if task is None else command.lot
        remedy = "a task of the present plan, and a delivery of an ingredient that it takes"
        return Refusal(code=RefusalCode.UNKNOWN, thing=thing, status=status, remedy=remedy)
    record = case.state.record(task.id)
    if record.status is TaskStatus.WAITING:
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status="waiting", remedy="start it first")
    amounts = wanted(case.kitchen, case.threads, task)
    amount = amounts.get((lot.ingredient, lot.quantity.unit))
    if amount is None:
        names = ", ".join(name for name, _ in amounts) or "no ingredient"
        return Refusal(
            code=RefusalCode.BAD_VALUE,
            thing=task.id,
            status=f"it does not take {lot.ingredient} in {lot.quantity.unit}",
            remedy=f"a lot of {names}",
        )
    if lot.use_by is not None and lot.use_by < (record.started_at or case.at):
        status = f"lot {lot.id} was to be used by {case.clock(lot.use_by)}"
        remedy = "another lot; if this one went in, put what was made on hold"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=task.id, status=status, remedy=remedy)
    quantity = Quantity(value=amount, unit=lot.quantity.unit)
    use = IngredientUse(lot=lot.id, ingredient=lot.ingredient, quantity=quantity)
    said = IngredientUsed(task=task.id, at=case.at, person=case.person, ingredients=(lot.ingredient,), uses=(use,))
    return Decision((said,))
