"""Which lot of an ingredient goes into what a task makes: the open one by itself, another because somebody says so."""

from collections.abc import Iterable
from datetime import datetime

from orchestrator.core.by_products import is_free
from orchestrator.core.decide.case import Case, Decision, with_replan
from orchestrator.core.deviations.standing import asked_about, usable_lots
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import LotCode
from orchestrator.core.models import PlannedTask
from orchestrator.core.models.stock import IngredientLot, IngredientUse
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import TaskStatus
from orchestrator.core.stock_commands import UseLot
from orchestrator.core.stock_events import IngredientUsed
from orchestrator.core.wanted import wanted


def lots_used(case: Case, task: PlannedTask, at: datetime) -> tuple[IngredientUsed, ...]:
    """What the books take it to use as it begins: what is to be used first, then the next; nothing that nobody
    received."""
    uses: list[IngredientUse] = []
    for (ingredient, unit), amount in wanted(case.kitchen, case.threads, task).items():
        left = amount
        for lot in usable_lots(case.state, ingredient, at, unit):
            part = min(left, case.state.pantry.left(lot.id))
            if part > 0:
                quantity = Quantity(value=part, unit=unit)
                uses.append(IngredientUse(lot=lot.id, ingredient=ingredient, quantity=quantity))
                left -= part
    if not uses:
        return ()
    names = tuple(dict.fromkeys(use.ingredient for use in uses))
    return (IngredientUsed(task=task.id, at=at, person=case.person, ingredients=names, uses=tuple(uses)),)


def date_goes_along(case: Case, task: PlannedTask, used: Iterable[IngredientUsed]) -> str:
    """Why a new plan is asked for: a left-over brings its date into a batch. Empty: none does."""
    lots = (case.state.pantry.lots[use.lot] for event in used for use in event.uses)
    dated = next((lot for lot in lots if lot.made_from is not None and lot.use_by is not None), None)
    return f"{dated.id} went into {task.lot}, with its date" if dated is not None and task.lot is not None else ""


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
    refusal = _may_not_go_in(case, task, lot, record.started_at or case.at)
    if refusal is not None:
        return refusal
    quantity = Quantity(value=amount, unit=lot.quantity.unit)
    use = IngredientUse(lot=lot.id, ingredient=lot.ingredient, quantity=quantity)
    said = IngredientUsed(task=task.id, at=case.at, person=case.person, ingredients=(lot.ingredient,), uses=(use,))
    return with_replan(case, (said,), date_goes_along(case, task, (said,)))


def _may_not_go_in(case: Case, task: PlannedTask, lot: IngredientLot, at: datetime) -> Refusal | None:
    """Past its date as the task began, on hold or thrown away, or in a place that failed and still asked about."""
    remedy = "another lot; if this one went in, put what was made on hold"
    failed = asked_about(case.state, LotCode(lot.id))
    if lot.use_by is not None and lot.use_by < at:
        status = f"lot {lot.id} was to be used by {case.clock(lot.use_by)}"
    elif not is_free(case.state, lot.id):
        status = f"lot {lot.id} is {case.state.lots[LotCode(lot.id)].status.value}"
    elif failed is not None:
        status = f"lot {lot.id} is asked about: {failed.facts.reason}"
    else:
        return None
    return Refusal(code=RefusalCode.NOT_ALLOWED, thing=task.id, status=status, remedy=remedy)
