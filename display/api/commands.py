"""Which commands may come from outside: the acts of people, not those of timers, probes and the planner."""

from typing import Annotated

from pydantic import Field, TypeAdapter

from orchestrator.core import commands as c
from orchestrator.core import (
    handover_commands,
    kitchen_commands,
    lot_commands,
    recipe_commands,
    stock_commands,
    tongue_commands,
)
from orchestrator.core.models import Model

PublicCommand = Annotated[
    kitchen_commands.ChangeKitchen
    | recipe_commands.RecipeCommand
    | stock_commands.StockCommand
    | c.StartTask
    | c.FinishTask
    | c.FinishTray
    | c.ExtendTask
    | c.ReportProblem
    | c.SkipTask
    | c.EnterTemperature
    | c.EnterWeight
    | c.AcknowledgeAlarm
    | c.ShelveAlarm
    | c.UnshelveAlarm
    | c.Undo
    | c.StopMachine
    | c.MachineBack
    | lot_commands.PowerCut
    | c.DecideLot
    | lot_commands.TakeAction
    | lot_commands.AnswerLot
    | lot_commands.CloseDeviation
    | lot_commands.LookThrough
    | c.DecidePlan
    | c.HoldInPlace
    | c.LetMove
    | c.AskReplan
    | c.AdoptDurations
    | c.RestoreDurations
    | c.CheckProbe
    | c.ApplyOffset
    | c.AssignProbe
    | c.ConfirmWashed
    | handover_commands.HandOver
    | handover_commands.TakeOver
    | tongue_commands.ChooseWays
    | c.SendTestCall,
    Field(discriminator="kind"),
]
PUBLIC_COMMANDS: TypeAdapter[PublicCommand] = TypeAdapter(PublicCommand)


class Accepted(Model):
    """The act is on disk."""

    seq: int
    """Number of its last event."""
