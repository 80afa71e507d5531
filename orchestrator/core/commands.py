"""What people, probes and the planner may ask of the kitchen. Each carries an id made by its sender."""

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from orchestrator.core.clock_commands import RecordClock
from orchestrator.core.command_base import BaseCommand as _Command
from orchestrator.core.handover_commands import HandOver, TakeOver
from orchestrator.core.ids import (
    AlarmId,
    CalleeId,
    EquipmentId,
    LotCode,
    ProbeId,
    RecipeId,
    StepId,
    TaskId,
)
from orchestrator.core.kitchen_commands import ChangeKitchen, TakeIngredients
from orchestrator.core.lot_commands import AnswerLot, CloseDeviation, LookThrough, PowerCut, TakeAction
from orchestrator.core.models import Duration, Kitchen, Measure, Plan, ProbeFact
from orchestrator.core.models.base import Instant
from orchestrator.core.models.calls import CallPlan, ChannelFault
from orchestrator.core.models.questions import LatestReturn, LatestStart
from orchestrator.core.pace_commands import RecordPace
from orchestrator.core.quantities import Quantity
from orchestrator.core.recipe_commands import RecipeCommand
from orchestrator.core.stock_commands import StockCommand
from orchestrator.core.tongue_commands import TongueCommand


class ImportKitchen(_Command):
    """Take over a kitchen folder, once; from then on the log rules."""

    kind: Literal["import_kitchen"] = "import_kitchen"
    kitchen: Kitchen


class StartTask(_Command):
    """Begin a step."""

    kind: Literal["start_task"] = "start_task"
    task: TaskId
    equipment: EquipmentId | None = None
    """Another machine of the same kind than planned."""
    override_reason: str = ""
    """Why a quality gate or window is overridden; safety ones cannot be."""
    checked: tuple[str, ...] = ()
    """Gates, by their words, that a named person has looked at: where no probe can tell, that is enough."""


class FinishTask(_Command):
    """End a step, with what was measured."""

    kind: Literal["finish_task"] = "finish_task"
    task: TaskId
    measured: dict[Measure, float] = {}
    left: dict[str, Quantity] = {}
    """By-products as they were weighed, by ingredient; of those not named, what the recipe lets expect is left."""
    override_reason: str = ""
    sure: bool = False
    """A value that hardly can be is meant as it stands."""


class FinishTray(_Command):
    """One more tray of short-cycle work is out."""

    kind: Literal["finish_tray"] = "finish_tray"
    task: TaskId
    pieces: int = Field(ge=0)
    made_before: int | None = Field(default=None, ge=0)
    """How many the screen showed as made: a tap on a picture that is no longer true is not counted again."""


class ExtendTask(_Command):
    """A step needs longer."""

    kind: Literal["extend_task"] = "extend_task"
    task: TaskId
    minutes: int = Field(ge=1, le=1440)


class ReportProblem(_Command):
    """Something is wrong with a step or its food."""

    kind: Literal["report_problem"] = "report_problem"
    task: TaskId
    what: Literal["quality", "temperature", "machine", "ingredient", "other"]
    text: str = Field(default="", max_length=500)
    hold_lot: bool = False


class SkipTask(_Command):
    """Leave a step out, with a reason; a critical one puts the lot on hold."""

    kind: Literal["skip_task"] = "skip_task"
    task: TaskId
    reason: str = Field(min_length=1, max_length=500)


class EnterTemperature(_Command):
    """A hand-held reading; it counts, marked as such."""

    kind: Literal["enter_temperature"] = "enter_temperature"
    task: TaskId
    celsius: float = Field(ge=-60, le=300)
    sure: bool = False
    """It is meant as it stands, though it looks like another unit."""


class EnterWeight(_Command):
    """What the food weighs while it simmers down or dries, without its pan or trays."""

    kind: Literal["enter_weight"] = "enter_weight"
    task: TaskId
    kilograms: float = Field(gt=0, le=1000)
    sure: bool = False
    """A weight that hardly can be is meant as it stands."""


class AcknowledgeAlarm(_Command):
    """An alarm has been seen."""

    kind: Literal["acknowledge_alarm"] = "acknowledge_alarm"
    alarm: AlarmId


class ShelveAlarm(_Command):
    """Make an alarm quiet for so long, with a reason; it comes back by itself."""

    kind: Literal["shelve_alarm"] = "shelve_alarm"
    alarm: AlarmId
    minutes: int = Field(ge=1, le=1440)
    reason: str = Field(min_length=1, max_length=500)


class UnshelveAlarm(_Command):
    """Take an alarm off the shelf before its time."""

    kind: Literal["unshelve_alarm"] = "unshelve_alarm"
    alarm: AlarmId


class Undo(_Command):
    """Take back an act; the original stays on record."""

    kind: Literal["undo"] = "undo"
    act: int
    """Sequence number of the act's event."""


class StopMachine(_Command):
    """A machine cannot be used, until then or until further notice."""

    kind: Literal["stop_machine"] = "stop_machine"
    equipment: EquipmentId
    until: Instant | None = None
    reason: str = Field(default="", max_length=500)


class MachineBack(_Command):
    """A machine can be used again."""

    kind: Literal["machine_back"] = "machine_back"
    equipment: EquipmentId


class DecideLot(_Command):
    """What becomes of a lot on hold."""

    kind: Literal["decide_lot"] = "decide_lot"
    lot: LotCode
    decision: Literal["release", "rework", "discard"]
    reason: str = Field(min_length=1, max_length=500)
    by_code: str = Field(default="", max_length=500)
    """Where a safety limit was broken: by which local code, or whose licensed practice, it is released."""


class OfferPlan(_Command):
    """A plan from the planner; core decides whether it is adopted, waits for a person, or is stale."""

    kind: Literal["offer_plan"] = "offer_plan"
    plan: Plan
    provisional: bool = False
    """A quick repair, adopted so that there is always a valid next step."""


class DecidePlan(_Command):
    """Adopt or decline the plan that waits."""

    kind: Literal["decide_plan"] = "decide_plan"
    proposal: int
    adopt: bool


class HoldInPlace(_Command):
    """No new plan may move this task, until somebody lets it go or facts overtake it."""

    kind: Literal["hold_in_place"] = "hold_in_place"
    task: TaskId


class LetMove(_Command):
    """A task held in place may move again."""

    kind: Literal["let_move"] = "let_move"
    task: TaskId


class AskReplan(_Command):
    """Plan again."""

    kind: Literal["ask_replan"] = "ask_replan"
    reason: str = ""


class RecordInstants(_Command):
    """Last instants have been found for a revision of the plan."""

    kind: Literal["record_instants"] = "record_instants"
    revision: int
    starts: tuple[LatestStart, ...] = ()
    returns: tuple[LatestReturn, ...] | None = None
    """None: they were not looked at."""


class AdoptDurations(_Command):
    """Put the figures learned from finished tasks in place of the recipe's."""

    kind: Literal["adopt_durations"] = "adopt_durations"
    recipe: RecipeId
    step: StepId
    figures: Duration
    """As the screen showed them: what has been learned since is not adopted unseen."""


class RestoreDurations(_Command):
    """Put the recipe's own figures back."""

    kind: Literal["restore_durations"] = "restore_durations"
    recipe: RecipeId
    step: StepId


class CheckProbe(_Command):
    """A probe was held into ice water, into boiling water, or beside a reference thermometer."""

    kind: Literal["check_probe"] = "check_probe"
    probe: ProbeId
    point: Literal["ice", "boiling", "reference"]
    shown_c: float = Field(ge=-60, le=300)
    """What the probe said."""
    reference_c: float | None = Field(default=None, ge=-60, le=300)
    """What the reference thermometer said, where there was one."""


class ApplyOffset(_Command):
    """Add so much to what a probe says from now on, as its last check showed; 0 takes an offset away."""

    kind: Literal["apply_offset"] = "apply_offset"
    probe: ProbeId
    offset_c: float = Field(ge=-20, le=20)
    """As the screen showed it: another check meanwhile makes another."""


class AssignProbe(_Command):
    """Put a probe into the food of a task, or to a machine or store; one of the two is given."""

    kind: Literal["assign_probe"] = "assign_probe"
    probe: ProbeId
    task: TaskId | None = None
    equipment: EquipmentId | None = None
    reads: Literal["core", "air"] | None = None
    """None: as before; into the food of a task always ``core``."""


class ConfirmWashed(_Command):
    """A probe was washed and sanitised."""

    kind: Literal["confirm_washed"] = "confirm_washed"
    probe: ProbeId


class RecordFact(_Command):
    """What a probe's curve means has changed."""

    kind: Literal["record_fact"] = "record_fact"
    fact: ProbeFact


class SendTestCall(_Command):
    """Call somebody on the list, to see whether it reaches them; a manager's act."""

    kind: Literal["send_test_call"] = "send_test_call"
    to: CalleeId


class RecordCall(_Command):
    """What became of a call."""

    kind: Literal["record_call"] = "record_call"
    call: int
    """Sequence number of the event that made it."""
    outcome: Literal["delivered", "failed", "gave_up"]
    """``failed``: it is tried again."""
    reached: tuple[str, ...] = ()
    faults: tuple[ChannelFault, ...] = ()


class TakeCallPlan(_Command):
    """The kitchen's file names other people, or other times, than before."""

    kind: Literal["take_call_plan"] = "take_call_plan"
    plan: CallPlan


class RecordChannels(_Command):
    """Under which names no address was found."""

    kind: Literal["record_channels"] = "record_channels"
    unset: tuple[str, ...] = ()


class Tick(_Command):
    """The instant that the timer was armed for has come."""

    kind: Literal["tick"] = "tick"


Command = Annotated[
    ImportKitchen
    | ChangeKitchen
    | RecipeCommand
    | StartTask
    | FinishTask
    | FinishTray
    | ExtendTask
    | ReportProblem
    | SkipTask
    | EnterTemperature
    | EnterWeight
    | AcknowledgeAlarm
    | ShelveAlarm
    | UnshelveAlarm
    | Undo
    | StopMachine
    | MachineBack
    | PowerCut
    | DecideLot
    | TakeAction
    | AnswerLot
    | CloseDeviation
    | LookThrough
    | OfferPlan
    | DecidePlan
    | HoldInPlace
    | LetMove
    | AskReplan
    | RecordInstants
    | AdoptDurations
    | RestoreDurations
    | CheckProbe
    | ApplyOffset
    | AssignProbe
    | ConfirmWashed
    | RecordFact
    | RecordPace
    | RecordClock
    | SendTestCall
    | RecordCall
    | TakeCallPlan
    | TakeIngredients
    | TongueCommand
    | RecordChannels
    | StockCommand
    | HandOver
    | TakeOver
    | Tick,
    Field(discriminator="kind"),
]
COMMANDS: TypeAdapter[Command] = TypeAdapter(Command)
