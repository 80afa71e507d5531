"""Carries changes out on a request to the planner, or refuses those that name what is not there."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from orchestrator.core import (
    changes_crew,
    changes_demand,
    changes_orders,
    changes_places,
    changes_recipes,
    changes_supplies,
)
from orchestrator.core.errors import Refusal
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.change import (
    AddOrder,
    AddRecipe,
    AddStock,
    AllowBreak,
    Change,
    ChangeOrder,
    CloseCounter,
    DropOrder,
    FreeTask,
    HoldTask,
    MachineBack,
    MachineStopped,
    ReviseRecipe,
    SetPar,
    SmallerBatch,
    SupplyMoved,
    SupplyThere,
    SwapIngredient,
)
from orchestrator.core.models.change_crew import Absent, ExtraShift, StartEarlier, WeeklyShifts
from orchestrator.core.worked_out import change_worked_out

_KINDS: Final[
    Mapping[type, tuple[Callable[[PlanRequest, Any], Refusal | None], Callable[[PlanRequest, Any], PlanRequest]]]
] = {
    AddOrder: (changes_orders.may_add, changes_orders.add),
    ChangeOrder: (changes_orders.may_change, changes_orders.change),
    DropOrder: (changes_orders.may_drop, changes_orders.drop),
    SmallerBatch: (changes_orders.may_shrink, changes_orders.smaller),
    AddStock: (changes_orders.may_stock, changes_orders.stock),
    ReviseRecipe: (changes_recipes.may_revise, changes_recipes.revise),
    AddRecipe: (changes_recipes.may_add_recipe, changes_recipes.add_recipe),
    ExtraShift: (changes_crew.may_extra_shift, changes_crew.extra_shift),
    StartEarlier: (changes_crew.may_start_earlier, changes_crew.start_earlier),
    Absent: (changes_crew.may_be_absent, changes_crew.absent),
    WeeklyShifts: (changes_crew.may_work_weekly, changes_crew.work_weekly),
    MachineStopped: (changes_places.may_stop, changes_places.stopped),
    MachineBack: (changes_places.may_be_back, changes_places.back),
    AllowBreak: (changes_places.may_break, changes_places.allow_break),
    HoldTask: (changes_places.may_hold, changes_places.hold),
    FreeTask: (changes_places.may_free, changes_places.free),
    SupplyMoved: (changes_supplies.may_move, changes_supplies.moved),
    SupplyThere: (changes_supplies.is_taken, changes_supplies.there),
    SwapIngredient: (changes_supplies.is_taken, changes_supplies.swapped),
    SetPar: (changes_demand.may_set_par, changes_demand.set_par),
    CloseCounter: (changes_demand.may_close, changes_demand.close),
}
"""A line for each kind of change: why it is refused, and how it is carried out.

What carries out never refuses: where the log is read again, what was accepted once is done once more, however
strict refusals have become since. Where what it names is not there it leaves the request as it is.
"""


def apply(request: PlanRequest, changes: Iterable[Change]) -> PlanRequest | Refusal:
    """The request as it would be after these changes, one after the other.

    Args:
        request: What the planner would be told; it is left as it is.
        changes: Each sees what those before it have changed.

    Returns:
        The changed request; or why the first change that cannot be is refused, with what would be accepted.
    """
    for change in changes:
        refused = _KINDS[type(change)][0](request, change)
        if refused is not None:
            return refused
        request = carried_out(request, (change_worked_out(change, request.kitchen),))
    return request


def as_recorded(request: PlanRequest, changes: Iterable[Change]) -> tuple[Change, ...]:
    """Changes that `apply` accepts, as they go on record: with all that the kitchen gives to recipes they bring."""
    told: list[Change] = []
    for change in changes:
        told.append(change_worked_out(change, request.kitchen))
        request = carried_out(request, told[-1:])
    return tuple(told)


def carried_out(request: PlanRequest, changes: Iterable[Change]) -> PlanRequest:
    """The request after changes that were accepted before: none is refused."""
    for change in changes:
        request = _KINDS[type(change)][1](request, change)
    return request
