"""What a step leaves over as it ends, and what of it was weighed."""

from datetime import datetime

from orchestrator.core.by_product_commands import WeighByProduct
from orchestrator.core.by_product_events import ByProductLeft, ByProductWeighed
from orchestrator.core.by_products import (
    amount_left,
    inherited_allergens,
    next_code,
    place_for,
    room_of,
    use_by_of,
    used_by,
)
from orchestrator.core.commands import FinishTask
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event
from orchestrator.core.ids import SupplyLotId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import PlannedTask, Step
from orchestrator.core.pantry import LEAST
from orchestrator.core.state import LotStatus


def weights_fit(task: PlannedTask, step: Step | None, command: FinishTask) -> Refusal | None:
    """What was weighed is something that the step leaves, in its unit."""
    known = {leave.ingredient: leave.amount.unit for leave in (step.leaves if step is not None else ())}
    for ingredient, amount in command.left.items():
        if ingredient not in known:
            says = f"it leaves no {ingredient}"
            remedy = f"one of {', '.join(known)}" if known else "leave it out"
            return Refusal(code=RefusalCode.BAD_VALUE, thing=task.id, status=says, remedy=remedy)
        if amount.unit is not known[ingredient] or amount.value < 0:
            says, remedy = f"{ingredient} is {amount}", f"an amount in {known[ingredient]}, 0 or more"
            return Refusal(code=RefusalCode.BAD_VALUE, thing=task.id, status=says, remedy=remedy)
    return None


def left_by(case: Case, task: PlannedTask, step: Step | None, command: FinishTask, at: datetime) -> tuple[Event, ...]:
    """A lot for each by-product of a step that ends; none for what was weighed as nothing."""
    batch = case.threads.batches.get(task.lot) if task.lot is not None else None
    if step is None or batch is None or task.lot is None:
        return ()
    found: list[Event] = []
    first = next_code(case.state, task.lot).rsplit("-", 1)
    for leave in step.leaves:
        expected, weighed = amount_left(leave, batch), command.left.get(leave.ingredient)
        amount = weighed if weighed is not None else expected
        if amount.value <= LEAST:
            continue
        scale = batch.scale * (amount.value / expected.value if expected.value > 0 else 1.0)
        lot = SupplyLotId(f"{first[0]}-{int(first[1]) + sum(isinstance(e, ByProductLeft) for e in found)}")
        left = ByProductLeft(
            lot=lot,
            ingredient=leave.ingredient,
            of=leave.of,
            task=task.id,
            made_from=task.lot,
            at=at,
            person=case.person,
            expected=expected,
            weighed=weighed,
            use_by=use_by_of(case.state, batch, step, leave, at),
            place=place_for(case.kitchen, leave),
            room=room_of(case.kitchen, leave, scale, amount),
            allergens=inherited_allergens(case.state, batch, step, leave),
        )
        found += [left, *_held(case, task, lot, at)]
    return tuple(found)


def _held(case: Case, task: PlannedTask, lot: SupplyLotId, at: datetime) -> tuple[Event, ...]:
    """What a lot on hold leaves is on hold with it."""
    record = case.state.lots.get(task.lot) if task.lot is not None else None
    if record is None or record.status is LotStatus.FREE:
        return ()
    reason = f"left by {task.lot}, which is {record.status.value}: {record.reason}"
    return (LotHeld.model_validate({"lot": lot, "at": at, "reason": reason, "task": task.id, "made_from": task.lot}),)


def weigh(case: Case, command: WeighByProduct) -> Decision | Refusal:
    """Put right what was expected to be left; the plan counts on what there is."""
    who = named(case, command.lot, "who weighed")
    if isinstance(who, Refusal):
        return who
    lot = case.state.pantry.lots.get(command.lot)
    if lot is None or lot.made_from is None:
        remedy = "the code of something that a step has left"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.lot, status="no such by-product", remedy=remedy)
    if command.weighed.unit is not lot.quantity.unit or command.weighed.value < 0:
        status = f"it is kept in {lot.quantity.unit}"
        remedy = f"an amount in {lot.quantity.unit}, 0 or more"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy=remedy)
    used = case.state.pantry.used(command.lot)
    if used_by(case.state, command.lot) and command.weighed.value < used - LEAST:
        status = f"{used:.4g} {lot.quantity.unit} of it has been used"
        remedy = "at least that, or count what is there now"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy=remedy)
    event = ByProductWeighed(lot=command.lot, at=case.at, person=who, weighed=command.weighed)
    says = f"{lot.ingredient} left by {lot.made_from}: {command.weighed.value:.4g} {command.weighed.unit}"
    return with_replan(case, (event,), says if _matters(case, lot.ingredient) else "")


def _matters(case: Case, ingredient: str) -> bool:
    """Whether some work may wait for it."""
    takes = (take for recipe in case.kitchen.recipes for step in recipe.steps for take in step.takes)
    return any(take.ingredient == ingredient for take in takes)
