"""Carries changes out on a request to the planner, or refuses those that name what is not there."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from orchestrator.core import changes_orders, changes_places
from orchestrator.core.errors import Refusal
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.change import (
    AddOrder,
    AddStock,
    AllowBreak,
    Change,
    ChangeOrder,
    DropOrder,
    ExtraShift,
    FreeTask,
    HoldTask,
    MachineBack,
    MachineStopped,
    SmallerBatch,
    StartEarlier,
)

_CARRIED_OUT: Final[Mapping[type, Callable[[PlanRequest, Any], PlanRequest | Refusal]]] = {
    AddOrder: changes_orders.add,
    ChangeOrder: changes_orders.change,
    DropOrder: changes_orders.drop,
    SmallerBatch: changes_orders.smaller,
    AddStock: changes_orders.stock,
    ExtraShift: changes_places.extra_shift,
    StartEarlier: changes_places.start_earlier,
    MachineStopped: changes_places.stopped,
    MachineBack: changes_places.back,
    AllowBreak: changes_places.allow_break,
    HoldTask: changes_places.hold,
    FreeTask: changes_places.free,
}
"""A line for each kind of change."""


def apply(request: PlanRequest, changes: Iterable[Change]) -> PlanRequest | Refusal:
    """The request as it would be after these changes, one after the other.

    Args:
        request: What the planner would be told; it is left as it is.
        changes: Each sees what those before it have changed.

    Returns:
        The changed request; or why the first change that cannot be is refused, with what would be accepted.
    """
    told: PlanRequest | Refusal = request
    for change in changes:
        if isinstance(told, Refusal):
            return told
        told = _CARRIED_OUT[type(change)](told, change)
    return told
