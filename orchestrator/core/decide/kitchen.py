"""What people change of the kitchen by hand: who may, what is put on record, and a plan asked for."""

from collections.abc import Iterator, Sequence
from typing import Final

from orchestrator.core.changes import apply, as_recorded
from orchestrator.core.changes_demand import closing_doubt
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.decide.recipes import not_from_a_trial
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, MachineReturned, TaskFreed, TaskHeld
from orchestrator.core.events import MachineStopped as Stopped
from orchestrator.core.ids import CrewId
from orchestrator.core.kitchen_commands import Basis, ChangeKitchen, TakeIngredients
from orchestrator.core.kitchen_events import IngredientsTaken, KitchenChanged
from orchestrator.core.models.change import (
    AddRecipe,
    AllowBreak,
    Change,
    CloseCounter,
    FreeTask,
    HoldTask,
    MachineBack,
    MachineStopped,
    ReviseRecipe,
)
from orchestrator.core.models.change_crew import Absent
from orchestrator.core.planning import plan_request

ANYBODY: Final = (Absent, CloseCounter, MachineStopped, MachineBack, HoldTask, FreeTask)
"""Facts of the day that whoever is there may put down. Orders, stock and shifts, and what may be given up of quality,
are for a manager, where the kitchen has one."""


def change_kitchen(case: Case, command: ChangeKitchen) -> Decision | Refusal:
    """All changes or none; a new plan is asked for, and is adopted or waits for a person like any other."""
    who = named(case, "the kitchen", "to change it")
    if isinstance(who, Refusal):
        return who
    refused = _not_theirs(case, command.changes, who) or _stale(case, command.based_on) or _no_reason(command)
    refused = refused or _not_tried(case, command)
    if refused is not None:
        return refused
    request = plan_request(case.state, case.now)
    told = apply(request, command.changes)
    if isinstance(told, Refusal):
        return told
    doubts = (closing_doubt(case.kitchen, change) for change in command.changes if isinstance(change, CloseCounter))
    doubt = next((found for found in doubts if found is not None), None)
    if doubt is not None:
        return doubt
    command = command.model_copy(update={"changes": as_recorded(request, command.changes)})
    events = (*_lasting(case, command, who), *(e for c in command.changes for e in _own_events(case, command, c, who)))
    # What was counted makes nothing: what is to be made of it is an order.
    as_planned = all(isinstance(change, HoldTask | FreeTask | CloseCounter) for change in command.changes)
    return with_replan(case, events, "" if as_planned else _why(case, command.changes))


def take_ingredients(case: Case, command: TakeIngredients) -> Decision:
    """Rows and prices of the ingredient table become others: no plan depends on them."""
    if (command.ingredients, command.currency) == (case.kitchen.ingredients, case.kitchen.currency):
        return Decision()
    return Decision((IngredientsTaken(ingredients=command.ingredients, currency=command.currency, at=case.now),))


def basis(case: Case) -> Basis:
    """On what a preview of the present moment is based."""
    return Basis(revision=case.state.revision, changes=case.state.by_hand.changes)


def _not_theirs(case: Case, changes: Sequence[Change], who: CrewId) -> Refusal | None:
    managers = [member.name for member in case.kitchen.crew if member.manager]
    if not managers or case.known.crew[who].manager:
        return None
    change = next((c for c in changes if not isinstance(c, ANYBODY)), None)
    if change is None:
        return None
    status = f"{case.known.crew[who].name} may not decide: {change.says(case.kitchen)}"
    return Refusal(
        code=RefusalCode.NOT_ALLOWED, thing=change.change, status=status, remedy=f"ask {' or '.join(managers)}"
    )


def _stale(case: Case, based_on: Basis | None) -> Refusal | None:
    if based_on is None or based_on == basis(case):
        return None
    other = "the plan" if based_on.changes == case.state.by_hand.changes else "the kitchen"
    return Refusal(
        code=RefusalCode.STALE,
        thing="preview",
        status=f"{other} has become another since this was shown",
        remedy="look at it again, as it would be now",
    )


def _not_tried(case: Case, command: ChangeKitchen) -> Refusal | None:
    named_trials = (change for change in command.changes if isinstance(change, ReviseRecipe | AddRecipe))
    return next((told for one in named_trials if (told := not_from_a_trial(case, one)) is not None), None)


def _no_reason(command: ChangeKitchen) -> Refusal | None:
    if command.reason.strip():
        return None
    recipe = next((change.recipe for change in command.changes if isinstance(change, ReviseRecipe | AddRecipe)), None)
    if recipe is not None:
        status = "it would be made so from now on, and no reason is given"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=recipe.name, status=status, remedy="say why")
    breaks = [change for change in command.changes if isinstance(change, AllowBreak)]
    if not breaks:
        return None
    status = "a quality window would be missed, and no reason is given"
    return Refusal(code=RefusalCode.BAD_VALUE, thing=breaks[0].task, status=status, remedy="say why")


def _lasting(case: Case, command: ChangeKitchen, who: CrewId) -> Iterator[Event]:
    """What has no event of its own."""
    kept = tuple(change for change in command.changes if _is_lasting(case, change))
    if kept:
        yield KitchenChanged(changes=kept, at=case.at, person=who, reason=command.reason.strip())


def _is_lasting(case: Case, change: Change) -> bool:
    match change:
        case HoldTask() | FreeTask():
            return False
        case MachineStopped():
            return change.start > case.now
        case MachineBack():
            return any(stop.equipment == change.equipment for stop in case.state.by_hand.stops)
        case _:
            return True


def _own_events(case: Case, command: ChangeKitchen, change: Change, who: CrewId) -> Iterator[Event]:
    """What has one already: machines as of now, tasks held in place."""
    reason = command.reason.strip()
    match change:
        case HoldTask():
            yield TaskHeld(task=change.task, at=case.at, person=who, start=case.threads.tasks[change.task].start)
        case FreeTask():
            yield TaskFreed(task=change.task, at=case.at, person=who)
        case MachineStopped() if change.start <= case.now:
            yield Stopped(equipment=change.equipment, at=case.at, until=change.end, reason=reason, person=who)
        case MachineBack() if change.equipment in case.state.machines:
            if change.at <= case.now:
                yield MachineReturned(equipment=change.equipment, at=case.at, person=who)
            else:
                stop = case.state.machines[change.equipment]
                yield Stopped(
                    equipment=change.equipment, at=case.at, until=change.at, reason=reason or stop.reason, person=who
                )
        case _:
            return


def _why(case: Case, changes: Sequence[Change]) -> str:
    more = f" and {len(changes) - 1} more" if len(changes) > 1 else ""
    return f"changed by hand: {changes[0].says(case.kitchen)}{more}"
