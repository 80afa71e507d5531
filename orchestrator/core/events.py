"""What has happened. Events are facts: they are appended, never changed."""

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field, TypeAdapter

from orchestrator.core.call_events import CallEvent
from orchestrator.core.clock_events import ClockSet
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.handover_events import HandoverEvent
from orchestrator.core.ids import AlarmId, CommandId, CrewId, EquipmentId, RecipeId, StepId, TaskId
from orchestrator.core.kitchen_events import IngredientsTaken, KitchenChanged
from orchestrator.core.lot_events import LotEvent
from orchestrator.core.models import Duration, Kitchen, Measure, Model, Move, Plan, ProbeFact
from orchestrator.core.models.alarm import AlarmFacts
from orchestrator.core.models.questions import LatestReturn, LatestStart
from orchestrator.core.pace_events import PaceLearned, ReductionLearned
from orchestrator.core.probe_events import ProbeEvent
from orchestrator.core.recipe_events import RecipeEvent
from orchestrator.core.stock_events import StockEvent
from orchestrator.core.tongue_events import TongueEvent


class KitchenImported(Model):
    """The kitchen folder was taken over."""

    kind: Literal["kitchen_imported"] = "kitchen_imported"
    kitchen: Kitchen


class GateEvidence(Model):
    """What a start gate was judged on."""

    says: str
    met: bool | None
    """None: there was no reading to judge by."""
    celsius: float | None = None
    measured_at: AwareDatetime | None = None
    checked: bool = False
    """Met because a named person looked at it: there was no reading."""
    doubt: str = ""
    """Why a probe that could have judged it may not be believed, in words."""
    awaits: str = ""
    """The ingredient that nobody has received, or no step has left; a named person may say that it is here."""


class TaskStarted(Model):
    """A step began; a stay begins with the end of the task before it."""

    kind: Literal["task_started"] = "task_started"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    equipment: EquipmentId | None
    gates: tuple[GateEvidence, ...] = ()
    override_reason: str = ""


class TaskFinished(Model):
    """A step ended."""

    kind: Literal["task_finished"] = "task_finished"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    measured: dict[Measure, float] = {}
    override_reason: str = ""


class TrayFinished(Model):
    """Pieces of short-cycle work came out."""

    kind: Literal["tray_finished"] = "tray_finished"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    pieces: int


class TaskExtended(Model):
    """A step needs so much longer."""

    kind: Literal["task_extended"] = "task_extended"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    minutes: int


class ProblemReported(Model):
    """Something is wrong with a step."""

    kind: Literal["problem_reported"] = "problem_reported"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    what: str
    text: str


class TaskSkipped(Model):
    """A step was left out."""

    kind: Literal["task_skipped"] = "task_skipped"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    reason: str


class TemperatureEntered(Model):
    """Somebody measured by hand."""

    kind: Literal["temperature_entered"] = "temperature_entered"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    celsius: float


class WeightEntered(Model):
    """Somebody weighed what simmers down or dries; with what the weights so far let expect."""

    kind: Literal["weight_entered"] = "weight_entered"
    task: TaskId
    at: AwareDatetime
    person: CrewId | None
    kilograms: float
    expected_from: AwareDatetime | None = None
    expected_to: AwareDatetime | None = None
    """Interval of 90 % in which the weight is reached; none while that cannot be known."""
    expected_end: AwareDatetime | None = None
    no_arrival: str = ""
    """Why there is no interval; empty where there is one, or it is reached."""
    earlier_runs: int = 0
    """How many runs before this one the interval leans on."""


class ActUndone(Model):
    """An act was taken back; what it changed is as before it."""

    kind: Literal["act_undone"] = "act_undone"
    act: int
    at: AwareDatetime
    person: CrewId | None


class MachineStopped(Model):
    """A machine cannot be used."""

    kind: Literal["machine_stopped"] = "machine_stopped"
    equipment: EquipmentId
    at: AwareDatetime
    until: AwareDatetime | None
    reason: str
    person: CrewId | None


class TaskHeld(Model):
    """No new plan may move a task."""

    kind: Literal["task_held"] = "task_held"
    task: TaskId
    at: AwareDatetime
    person: CrewId
    start: AwareDatetime
    """Where it is held."""


class TaskFreed(Model):
    """A task held in place may move again."""

    kind: Literal["task_freed"] = "task_freed"
    task: TaskId
    at: AwareDatetime
    person: CrewId


class StopAssumed(Model):
    """Nobody has said when a machine will be back, and it was taken to be by now: it is taken to be back later."""

    kind: Literal["stop_assumed"] = "stop_assumed"
    equipment: EquipmentId
    at: AwareDatetime
    until: AwareDatetime


class MachineReturned(Model):
    """A machine can be used again."""

    kind: Literal["machine_returned"] = "machine_returned"
    equipment: EquipmentId
    at: AwareDatetime
    person: CrewId | None


class PlanAdopted(Model):
    """From now on this plan holds."""

    kind: Literal["plan_adopted"] = "plan_adopted"
    plan: Plan
    at: AwareDatetime
    person: CrewId | None
    """None: nobody had to be asked."""
    moves: tuple[Move, ...] = ()
    provisional: bool = False


class PlanProposed(Model):
    """A plan waits for a named person."""

    kind: Literal["plan_proposed"] = "plan_proposed"
    plan: Plan
    at: AwareDatetime
    moves: tuple[Move, ...]
    waits_for: tuple[str, ...]
    """Why it may not be adopted alone."""
    decide_by: AwareDatetime


class PlanDeclined(Model):
    """The waiting plan was declined, or nobody decided in time."""

    kind: Literal["plan_declined"] = "plan_declined"
    proposal: int
    at: AwareDatetime
    person: CrewId | None


class ReplanWanted(Model):
    """Something moved; the planner is asked for a new revision."""

    kind: Literal["replan_wanted"] = "replan_wanted"
    at: AwareDatetime
    reason: str


class InstantsFound(Model):
    """Until when tasks can start and machines be back, found by repairs of the adopted plan; each was checked."""

    kind: Literal["instants_found"] = "instants_found"
    at: AwareDatetime
    revision: int
    """Of the plan that they belong to."""
    starts: tuple[LatestStart, ...] = ()
    returns: tuple[LatestReturn, ...] | None = None
    """None: they were not looked at."""


class DurationsAdopted(Model):
    """A step takes other minutes from now on: learned from finished tasks, adopted by a manager."""

    kind: Literal["durations_adopted"] = "durations_adopted"
    recipe: RecipeId
    step: StepId
    figures: Duration
    """Of short-cycle work: of a tray."""
    written: Duration
    """The recipe's own figures, which can be restored."""
    samples: int
    """From so many finished tasks."""
    at: AwareDatetime
    person: CrewId


class DurationsRestored(Model):
    """A step takes the recipe's own minutes again."""

    kind: Literal["durations_restored"] = "durations_restored"
    recipe: RecipeId
    step: StepId
    written: Duration
    at: AwareDatetime
    person: CrewId


class FactRecorded(Model):
    """What a probe's curve means has changed."""

    kind: Literal["fact_recorded"] = "fact_recorded"
    fact: ProbeFact
    at: AwareDatetime


class AlarmRaised(Model):
    """Something needs somebody, before it is missed if possible."""

    kind: Literal["alarm_raised"] = "alarm_raised"
    alarm: AlarmId
    at: AwareDatetime
    facts: AlarmFacts


class AlarmEscalated(Model):
    """What was about to be missed is missed, or has become worse."""

    kind: Literal["alarm_escalated"] = "alarm_escalated"
    alarm: AlarmId
    at: AwareDatetime
    facts: AlarmFacts


class AlarmAcknowledged(Model):
    """Somebody has seen it."""

    kind: Literal["alarm_acknowledged"] = "alarm_acknowledged"
    alarm: AlarmId
    at: AwareDatetime
    person: CrewId | None


class AlarmReturned(Model):
    """The cause is over."""

    kind: Literal["alarm_returned"] = "alarm_returned"
    alarm: AlarmId
    at: AwareDatetime


class AlarmShelved(Model):
    """A named person has made an alarm quiet until then, for a reason."""

    kind: Literal["alarm_shelved"] = "alarm_shelved"
    alarm: AlarmId
    at: AwareDatetime
    person: CrewId
    until: AwareDatetime
    reason: str


class AlarmUnshelved(Model):
    """An alarm is off the shelf: by a person, or by itself (nobody) because its time is over or it has become worse."""

    kind: Literal["alarm_unshelved"] = "alarm_unshelved"
    alarm: AlarmId
    at: AwareDatetime
    person: CrewId | None = None


KitchenEvent = (
    KitchenImported
    | KitchenChanged
    | TaskStarted
    | TaskFinished
    | TrayFinished
    | TaskExtended
    | ProblemReported
    | TaskSkipped
    | TemperatureEntered
    | WeightEntered
    | ActUndone
    | MachineStopped
    | StopAssumed
    | MachineReturned
    | TaskHeld
    | TaskFreed
    | LotEvent
    | PlanAdopted
    | PlanProposed
    | PlanDeclined
    | ReplanWanted
    | InstantsFound
    | DurationsAdopted
    | DurationsRestored
    | FactRecorded
    | AlarmRaised
    | AlarmEscalated
    | AlarmAcknowledged
    | AlarmReturned
    | AlarmShelved
    | AlarmUnshelved
    | HandoverEvent
    | CallEvent
    | IngredientsTaken
    | RecipeEvent
    | TongueEvent
    | PaceLearned
    | ReductionLearned
    | ClockSet
    | DaysMoved
)
"""All but those of probes and of stock, which have files of their own."""

Event = Annotated[KitchenEvent | ProbeEvent | StockEvent, Field(discriminator="kind")]


class Recorded(Model):
    """An event with its place in the log."""

    seq: int
    """1, 2, 3 ... without gaps."""
    at: AwareDatetime
    """When it was recorded; the event's own ``at`` says when it happened."""
    command_id: CommandId
    event: Event


EVENTS: TypeAdapter[Event] = TypeAdapter(Event)
