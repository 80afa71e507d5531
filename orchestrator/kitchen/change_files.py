"""What may stand in a file of scenarios: changes with times on the kitchen's clock."""

from typing import Annotated, Any, Final

from pydantic import Field

from orchestrator.core.models import Model
from orchestrator.core.models.change import (
    CHANGES,
    AddOrder,
    AddRecipe,
    AddStock,
    AllowBreak,
    Change,
    ChangeOrder,
    DropOrder,
    FreeTask,
    HoldTask,
    MachineBack,
    MachineStopped,
    ReviseRecipe,
    SmallerBatch,
    SupplyMoved,
    SupplyThere,
    SwapIngredient,
)
from orchestrator.core.models.change_crew import Absent, ExtraShift, StartEarlier, WeeklyShifts
from orchestrator.kitchen.files import OrderInFile, StockLotInFile
from orchestrator.kitchen.local_time import LocalInstant


class AddOrderInFile(AddOrder):
    """One order more, written as in orders.yaml."""

    order: OrderInFile


class ChangeOrderInFile(ChangeOrder):
    """Another hand-over, weight or amount of an order; what is left out stays as it is."""

    due: LocalInstant | None = None
    earliest: LocalInstant | None = None


class ExtraShiftInFile(ExtraShift):
    """Somebody of the crew is there at another time as well."""

    start: LocalInstant
    end: LocalInstant


class StartEarlierInFile(StartEarlier):
    """Somebody's next shift after an instant begins at that instant already."""

    start: LocalInstant


class AbsentInFile(Absent):
    """Somebody of the crew is not there, whatever their shifts say."""

    start: LocalInstant
    end: LocalInstant


class MachineStoppedInFile(MachineStopped):
    """A machine that cannot be used for a while."""

    start: LocalInstant
    end: LocalInstant


class MachineBackInFile(MachineBack):
    """A stopped machine that can be used again from then on."""

    at: LocalInstant


class AddStockInFile(AddStock):
    """A lot more on hand, written as in stock.yaml."""

    lot: StockLotInFile


class SupplyMovedInFile(SupplyMoved):
    """An ingredient is there later, or sooner, than was thought."""

    ready: LocalInstant


ChangeInFile = Annotated[
    AddOrderInFile
    | ChangeOrderInFile
    | DropOrder
    | SmallerBatch
    | ExtraShiftInFile
    | StartEarlierInFile
    | AbsentInFile
    | WeeklyShifts
    | MachineStoppedInFile
    | MachineBackInFile
    | AddStockInFile
    | SupplyMovedInFile
    | SupplyThere
    | SwapIngredient
    | ReviseRecipe
    | AddRecipe
    | AllowBreak
    | HoldTask
    | FreeTask,
    Field(discriminator="change"),
]

CHANGES_IN_FILE: Final[dict[str, type[Model]]] = {
    str(model.model_fields["change"].default): model
    for model in (
        AddOrderInFile,
        ChangeOrderInFile,
        DropOrder,
        SmallerBatch,
        ExtraShiftInFile,
        StartEarlierInFile,
        AbsentInFile,
        WeeklyShifts,
        MachineStoppedInFile,
        MachineBackInFile,
        AddStockInFile,
        SupplyMovedInFile,
        SupplyThere,
        SwapIngredient,
        ReviseRecipe,
        AddRecipe,
        AllowBreak,
        HoldTask,
        FreeTask,
    )
}
"""By what they are called in a file."""


class ScenarioInFile(Model):
    """Changes that are tried together."""

    name: str = Field(min_length=1, max_length=80)
    changes: tuple[ChangeInFile, ...] = Field(max_length=20)


class WhatIfFile(Model):
    """A file for ``coldwright plan DIR --what-if FILE``: scenarios to be compared."""

    scenarios: tuple[ScenarioInFile, ...] = Field(min_length=1, max_length=8)


def to_core(change: Any) -> Change:
    """The plain change, its times as instants."""
    return CHANGES.validate_python(change.model_dump(exclude_none=True))
