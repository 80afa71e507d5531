"""All that is known, rebuilt from events alone. Frozen: a new state is made, the old one is never changed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Literal

from orchestrator.core.attendance import Attendance
from orchestrator.core.call_book import CallBook
from orchestrator.core.draft_book import DraftBook
from orchestrator.core.events import GateEvidence
from orchestrator.core.ids import (
    AlarmId,
    CommandId,
    CrewId,
    DeviationId,
    DrillId,
    EquipmentId,
    LotCode,
    ProbeId,
    RecipeId,
    StepId,
    TaskId,
)
from orchestrator.core.kitchen_book import KitchenBook
from orchestrator.core.lot_events import RecordLookedThrough
from orchestrator.core.models import Batch, Kitchen, Measure, Move, Plan, ProbeFact
from orchestrator.core.models.alarm import Alarm
from orchestrator.core.models.deviation import Deviation
from orchestrator.core.models.durations import AdoptedFigures, Sample
from orchestrator.core.models.handover import Handover
from orchestrator.core.models.questions import LatestReturn, LatestStart
from orchestrator.core.models.stock import Drill
from orchestrator.core.pace_events import PaceLearned, ReductionLearned
from orchestrator.core.pantry import Pantry
from orchestrator.core.past import Past
from orchestrator.core.probe_book import ProbeBook
from orchestrator.core.quantities import Quantity
from orchestrator.core.seen import SeenCommands
from orchestrator.core.stock_events import StockCounted


class TaskStatus(StrEnum):
    """Where a task is in its life; see `task_lifecycle`."""

    WAITING = "waiting"
    IN_HAND = "in hand"
    DONE = "done"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True)
class WeightExpected:
    """When the weights so far let the wanted one be expected; see `weighing`."""

    soonest: datetime | None
    latest: datetime | None
    likely: datetime | None
    why_none: str
    earlier_runs: int = 0
    """How many runs before this one it leans on."""


@dataclass(frozen=True, slots=True)
class TaskRecord:
    """What has happened to a task; tasks without a record are waiting."""

    status: TaskStatus = TaskStatus.WAITING
    started_at: datetime | None = None
    finished_at: datetime | None = None
    started_by: CrewId | None = None
    finished_by: CrewId | None = None
    equipment: EquipmentId | None = None
    extended_min: int = 0
    pieces: int = 0
    measured: Mapping[Measure, float] = field(default_factory=dict)
    hand_readings: tuple[tuple[datetime, float], ...] = ()
    """Instants and °C that people measured."""
    hand_by: Mapping[datetime, CrewId | None] = field(default_factory=dict)
    """Who took them."""
    weighings: tuple[tuple[datetime, float], ...] = ()
    """Instants and kilograms while it was in hand."""
    weight_expected: WeightExpected | None = None
    gates: tuple[GateEvidence, ...] = ()
    problems: tuple[str, ...] = ()
    reason: str = ""
    """Why it was skipped or a gate overridden."""


class LotStatus(StrEnum):
    """What may be done with a lot."""

    FREE = "free"
    ON_HOLD = "on hold"
    DISCARDED = "discarded"
    REWORK = "rework"


@dataclass(frozen=True, slots=True)
class LotRecord:
    """What was decided about a lot; lots without a record are free."""

    status: LotStatus
    since: datetime
    reason: str
    by: CrewId | None = None


@dataclass(frozen=True, slots=True)
class Taking:
    """What a task took as it began: from then on, what is in doubt about the lots is in doubt about what it made."""

    into: str
    """Lot code of the batch, or the id of the order."""
    lots: tuple[LotCode, ...]
    amounts: tuple[Quantity, ...] = ()
    """Of each lot, as the plan meant it; what a lot no longer had was not taken, see `material`."""
    to_order: bool = False
    at: datetime | None = None
    """Of food that was reworked into a batch, which no task of it takes; else the task says."""


@dataclass(frozen=True, slots=True)
class MachineStop:
    """A machine that is stopped."""

    since: datetime
    until: datetime | None
    reason: str
    by: CrewId | None
    assumed: datetime | None = None
    """When it is taken to be back, where nobody has said; see `planning.UNKNOWN_STOP`."""


@dataclass(frozen=True, slots=True)
class Act:
    """Something a person did that can be taken back; ``before`` holds what it changed."""

    seq: int
    what: Literal["started", "finished", "tray", "extended", "problem", "skipped", "temperature", "weight"]
    task: TaskId
    person: CrewId | None
    at: datetime
    before: Mapping[TaskId, TaskRecord | None]
    lots_before: Mapping[LotCode, LotRecord | None] = field(default_factory=dict)
    command_id: CommandId | None = None
    """Of the command: its later events belong to the same act."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan that waits for a named person."""

    seq: int
    plan: Plan
    moves: tuple[Move, ...]
    waits_for: tuple[str, ...]
    decide_by: datetime


@dataclass(frozen=True, slots=True)
class Instants:
    """Last instants of the adopted plan, as they were found by repair."""

    found_at: datetime
    starts: Mapping[TaskId, LatestStart]
    returns: tuple[LatestReturn, ...]


@dataclass(frozen=True, slots=True)
class State:
    """The whole kitchen at one point of the log."""

    seq: int = 0
    kitchen: Kitchen | None = None
    plan: Plan | None = None
    revision: int = 0
    """How many plans have been adopted."""
    adopted_at: datetime | None = None
    moves: tuple[Move, ...] = ()
    """What the last adoption changed."""
    agreed: Plan | None = None
    """The last plan that the rules or a person adopted as good, while a quick repair of it is worked by."""
    proposal: Proposal | None = None
    replan_reason: str = ""
    """Why a new plan is wanted; empty when none is."""
    replan_wanted_at: datetime | None = None
    """Since when it is waited for; wishes soon after it do not begin anew, see `planning.PLAN_PATIENCE`."""
    instants: Instants | None = None
    """Of the adopted plan; none until they have been looked for."""
    tasks: Mapping[TaskId, TaskRecord] = field(default_factory=dict)
    lots: Mapping[LotCode, LotRecord] = field(default_factory=dict)
    looked: Mapping[LotCode, tuple[RecordLookedThrough, ...]] = field(default_factory=dict)
    """Who said that they looked a batch's record through, the newest last."""
    unseen: Mapping[LotCode, tuple[tuple[int, datetime], ...]] = field(default_factory=dict)
    """Of each lot, number and instant of what came on its record that nobody has looked through; the oldest first."""
    takings: Mapping[TaskId, Taking] = field(default_factory=dict)
    """Of tasks that have begun, also of those that no plan names any more."""
    begun: Mapping[LotCode, Batch] = field(default_factory=dict)
    """Batches on which work has begun, also those that no plan names any more."""
    pantry: Pantry = field(default_factory=Pantry)
    """Ingredients that were received, and which of them went into what."""
    counts: Mapping[LotCode, tuple[StockCounted, ...]] = field(default_factory=dict)
    """What was counted of lots, and differed from the books; the newest last."""
    drills: Mapping[DrillId, Drill] = field(default_factory=dict)
    """Recall drills, in the order in which they began."""
    deviations: Mapping[DeviationId, Deviation] = field(default_factory=dict)
    """All of them, in the order in which they were opened."""
    machines: Mapping[EquipmentId, MachineStop] = field(default_factory=dict)
    alarms: Mapping[AlarmId, Alarm] = field(default_factory=dict)
    raised: tuple[datetime, ...] = ()
    """When alarms were raised, the newest last, as far back as `models.alarm.NIGHT`: those that are over, too."""
    facts: Mapping[ProbeId, ProbeFact] = field(default_factory=dict)
    """The last fact on record of each probe."""
    probes: ProbeBook = field(default_factory=ProbeBook)
    """Their checks, offsets, places and washes."""
    samples: Mapping[tuple[RecipeId, StepId], tuple[Sample, ...]] = field(default_factory=dict)
    """How long finished tasks took, the newest last; see `durations`."""
    paces: Mapping[tuple[EquipmentId, RecipeId, StepId], tuple[PaceLearned, ...]] = field(default_factory=dict)
    """How fast the same steps warmed before in the same places, the newest last; see `paces`."""
    reductions: Mapping[tuple[EquipmentId, RecipeId, StepId], tuple[ReductionLearned, ...]] = field(
        default_factory=dict
    )
    """How the same steps lost weight before in the same places, the newest last."""
    adopted: Mapping[tuple[RecipeId, StepId], AdoptedFigures] = field(default_factory=dict)
    """Steps whose figures are no longer the recipe's own; the kitchen has them already."""
    calls: CallBook = field(default_factory=CallBook)
    """Who was called about which alarms, and whether it reached them."""
    by_hand: KitchenBook = field(default_factory=KitchenBook)
    """What people changed of the kitchen; the kitchen has it already."""
    handovers: tuple[Handover, ...] = ()
    """The latest shift hand-overs, newest last; at most 12."""
    drafts: DraftBook = field(default_factory=DraftBook)
    """Drafts of recipes and their trials."""
    past: Past = field(default_factory=Past)
    """What has left the plan; see `days` and `whole`."""
    attendance: Attendance = field(default_factory=Attendance)
    """Who said that they are here."""
    acts: tuple[Act, ...] = ()
    """The latest acts that can be undone, newest last; at most 50."""
    seen: SeenCommands = field(default_factory=SeenCommands)
    """Commands carried out, and the seq of the last event of each: repeats get the same answer."""

    def record(self, task: TaskId) -> TaskRecord:
        """What has happened to a task."""
        return self.tasks.get(task, _WAITING)


_WAITING = TaskRecord()

Facts = Mapping[ProbeId, ProbeFact]
"""The latest fact of every probe, as `decide` and the views are given it. It is fresher than
`State.facts`, which holds only what made a difference."""
