"""A plan: batches, tasks placed in time, and what it means for each order."""

from enum import StrEnum
from typing import Literal

from pydantic import AwareDatetime, Field

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, RecipeId, StationId, StepId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.kitchen import Kitchen
from orchestrator.core.models.recipe import Attended, Duration, Process, Stay, WindowClass
from orchestrator.core.models.risk import Cause, WindowChance
from orchestrator.core.quantities import Minutes, Quantity


class Peg(Model):
    """So much of one lot is meant for one consumer: another batch, or a line of an order."""

    lot: LotCode
    batch: LotCode | None = None
    order: OrderId | None = None
    quantity: Quantity

    @property
    def consumer(self) -> str:
        """Lot code or order id of who takes it."""
        return str(self.batch or self.order)


class Batch(Model):
    """One run of a recipe at one size."""

    lot: LotCode
    recipe: RecipeId
    revision: int
    size: Quantity
    """Expected output, after machine losses."""
    scale: float = Field(gt=0)
    """The recipe's amounts are multiplied by this."""
    allergens: tuple[str, ...] = ()
    """All of them: ingredients and components, sorted."""
    oldest: AwareDatetime | None = None
    """By when it must be used for the sake of reworked food that went in, whatever its own date says."""


class TaskKind(StrEnum):
    """What sort of a task it is."""

    WORK = "work"
    """A step of its own length."""
    STAY = "stay"
    """Fills a store from the end of the task before it to the start of the one after."""
    CLEAN = "clean"
    """Upkeep of a machine between two runs: see `Upkeep`."""


class Upkeep(StrEnum):
    """What is done to a machine between runs."""

    RINSE = "rinse"
    FULL = "full clean"
    HYGIENE = "hygiene clean"
    DAY_END = "day-end clean"
    PRECOOL = "pre-cool"


class TaskLink(Model):
    """Start no sooner than ``least`` and no later than ``most`` minutes after the end of another task."""

    after: TaskId
    least: int = 0
    most: int | None = None
    window: WindowClass = WindowClass.QUALITY


class Life(Model):
    """What is left of a shelf life: a task may start no later, always a safety limit.

    Either ``most`` minutes after the end of ``after``, the last work of a lot that is made here or the step that takes
    it out of the freezer, or ``until``.
    """

    lot: LotCode
    """Whose life it is."""
    after: TaskId | None = None
    most: int | None = None
    until: AwareDatetime | None = None


class TaskSpec(Model):
    """A task before it has a place in time: what the demand asks for."""

    id: TaskId
    kind: TaskKind
    upkeep: Upkeep | None = None
    """Of a clean: which; left out in old plans, where its length tells."""
    process: Process
    title: str
    lot: LotCode | None = None
    """The batch it belongs to; none for clean-downs and for steps done per order line from stock."""
    order: OrderId | None = None
    recipe: RecipeId | None = None
    revision: int | None = None
    """Of the recipe, as the batch was begun with; left out in old plans and for an order line: as it is now."""
    step: StepId | None = None
    station: StationId
    equipment_kind: str | None = None
    load: float = 0.0
    """In the unit of the equipment's capacity."""
    quantity: Quantity | None = None
    """What the task works on or yields, for people."""
    duration: Duration
    """Minutes at this size; of a stay: shortest = its least, longest = its most or the horizon."""
    stay: Stay | None = None
    attended: tuple[Attended, ...] = ()
    skill: str | None = None
    hands: int = 1
    links: tuple[TaskLink, ...] = ()
    """A stay's own link has ``most=0`` to the task that fills it, and the consumer's link has
    ``most=0`` to the stay: both join without a gap."""
    lives: tuple[Life, ...] = ()
    """Of what went into it, and is not frozen before it."""

    @property
    def cleans(self) -> bool:
        """Whether a machine is cleaned by it, which is allowed while that is stopped."""
        return self.kind is TaskKind.CLEAN and self.upkeep is not Upkeep.PRECOOL


class AttendedSpan(Model):
    """From when to when who is needed."""

    start: AwareDatetime
    end: AwareDatetime
    crew: tuple[CrewId, ...]


class PlannedTask(TaskSpec):
    """A task with its place in time, equipment and people."""

    equipment: EquipmentId | None = None
    start: AwareDatetime
    end: AwareDatetime
    spans: tuple[AttendedSpan, ...] = ()
    opens: AwareDatetime | None = None
    """Earliest start that its links allow, from the planned or actual ends before it."""
    closes: AwareDatetime | None = None
    """Latest start that its links and stays allow."""
    closing_class: WindowClass | None = None
    held_in_place: bool = False
    crowded: float = 1.0
    """The minutes of its machine times this: more warm food is in the freezer than it cools at its usual pace."""


class WindowBreak(Model):
    """A window that the plan cannot keep, named openly."""

    task: TaskId
    after: TaskId
    window: WindowClass
    minutes: int
    """By how much, always positive."""
    side: Literal["too early", "too late"]
    reason: str


class Outlook(Model):
    """What the plan says of one order."""

    order: OrderId
    met: bool
    """False: some line cannot be made at all within the horizon and the safety windows."""
    ready_at: AwareDatetime | None
    late_min: int
    """Minutes after due; 0 when on time."""
    margin_min: int
    """Minutes before due; 0 when late."""
    reason: str = ""
    """Why late or unmet, naming what stands in the way."""
    chance: float | None = None
    """Share of simulated runs in which it is on time, when the plan was made; none where nobody simulated."""
    chance_low: float | None = None
    """Ends of the 95 % interval of that share."""
    chance_high: float | None = None
    causes: tuple[Cause, ...] = ()
    """Steps that cost most of what is missing to certainty."""


class PlanTerm(Model):
    """One goal of the plan and what it came to."""

    name: str
    value: float
    stage: int


class Plan(Model):
    """All tasks placed in time. Tasks already done stay in it, at their actual times."""

    made_at: AwareDatetime
    start: AwareDatetime
    end: AwareDatetime
    batches: tuple[Batch, ...]
    pegs: tuple[Peg, ...]
    """Which lot (batch or stock) serves which consumer."""
    tasks: tuple[PlannedTask, ...]
    outlooks: tuple[Outlook, ...]
    breaks: tuple[WindowBreak, ...] = ()
    given_up: tuple[LotCode, ...] = ()
    """Begun batches whose next work finds no place: named openly, and on hold as soon as the plan is adopted."""
    let_go: tuple[TaskId, ...] = ()
    """Tasks held in place that no plan could keep where they were: named openly, and no longer held."""
    terms: tuple[PlanTerm, ...] = ()
    shaky: tuple[WindowChance, ...] = ()
    """Windows that are kept in fewer than 19 of 20 simulated runs, the least likely first; at most 30."""
    simulated_runs: int = 0
    """How many runs the chances come from; 0: nobody simulated."""
    method: str
    """How it was found: ``repair``, ``first guess`` with its rule, ``constraint model`` of everything,
    ``neighbourhoods`` or ``iterated greedy``."""

    def task(self, task: TaskId) -> PlannedTask:
        """The task of that id. Raises: KeyError."""
        for candidate in self.tasks:
            if candidate.id == task:
                return candidate
        raise KeyError(task)


class Actual(Model):
    """What has already happened to a task, for the planner."""

    task: TaskId
    status: Literal["in hand", "done", "skipped"]
    start: AwareDatetime
    end: AwareDatetime
    """Actual when done; expected when in hand."""
    equipment: EquipmentId | None
    crew: tuple[CrewId, ...] = ()


class Stop(Model):
    """A machine that cannot be used."""

    equipment: EquipmentId
    start: AwareDatetime
    end: AwareDatetime


class KeptRoom(Model):
    """Room in a store that by-products take: nothing is planned into it."""

    equipment: EquipmentId
    start: AwareDatetime
    end: AwareDatetime
    room: float
    """In the unit of the store's capacity."""
    sure: bool = True
    """Whether it stands there by now; else the plan so far will leave it, and food that is wanted goes before it."""


class LeftOverIn(Model):
    """A left-over with a date that a step of a batch has taken: the date goes along."""

    task: TaskId
    lot: LotCode
    """Of the left-over."""
    at: AwareDatetime
    """When it was taken."""
    made: AwareDatetime
    """When it was left over."""
    until: AwareDatetime
    """Its use-by."""
    cooked_in: StepId | None = None
    """The step that cooks it again by a limit of the kitchen's, from which on the food has a date of its own."""


class AllowedBreak(Model):
    """A quality window that somebody lets be missed, by no more than so many minutes; named as in `WindowBreak`."""

    task: TaskId
    after: TaskId
    side: Literal["too early", "too late"]
    minutes: Minutes = Field(ge=1)


class PlanRequest(Model):
    """Everything the planner is told; it looks at nothing else."""

    kitchen: Kitchen
    now: AwareDatetime
    previous: Plan | None = None
    """The adopted plan, whose batches and tasks keep their ids; none at first."""
    actuals: tuple[Actual, ...] = ()
    stops: tuple[Stop, ...] = ()
    held_lots: tuple[LotCode, ...] = ()
    """On hold: no consumer may take from them before somebody decides."""
    lost_lots: tuple[LotCode, ...] = ()
    """Discarded: whatever they were meant for must be made again."""
    counted: dict[LotCode, float] = {}
    """How much more than its size or stock there is of a lot, by a count, or less what was taken for what is in no plan
    any more; below 0: less."""
    used: tuple[str, ...] = ()
    """Lot codes and order ids of former days: nothing else is called so."""
    stretched: dict[TaskId, int] = {}
    """Minutes that a cook added to a task ('needs longer')."""
    kept: tuple[KeptRoom, ...] = ()
    """Room that is taken by what steps have left, or will by the plan so far."""
    left_overs: tuple[LeftOverIn, ...] = ()
    """Left-overs with a date that have gone into batches."""
    allowed: tuple[AllowedBreak, ...] = ()
    """Quality windows that the plan may miss for a better goal, naming them among its breaks."""


class PlanAnswer(Model):
    """A plan that passed the checker, or why there is none."""

    kind: Literal["plan"] = "plan"
    plan: Plan | None
    violations: tuple[str, ...] = ()
    seconds: float


class Violation(Model):
    """A rule that a plan breaks, found without the solver."""

    rule: str
    tasks: tuple[TaskId, ...]
    says: str


class Move(Model):
    """A difference between two plans, for people."""

    task: TaskId
    title: str
    before: AwareDatetime | None
    after: AwareDatetime | None
    """None: the task is new, or gone."""
    what: Literal["later", "earlier", "new", "gone", "other equipment", "other people"]
    reason: str = ""
