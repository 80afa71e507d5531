"""Shapes of the views. Instants are absolute; display draws and words them, in its reader's language."""

from enum import StrEnum
from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import (
    CrewId,
    DeviationId,
    EquipmentId,
    LotCode,
    OrderId,
    ProbeId,
    RecipeId,
    StationId,
    TaskId,
)
from orchestrator.core.models import Measure, Model, Outlook, Probe, Target, TaskKind, Upkeep, WindowClass
from orchestrator.core.models.alarm import Alarm
from orchestrator.core.models.equipment import Floor
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.quantities import Quantity
from orchestrator.core.views.figures import DayMarkView, FollowOnView, GateView, LeaveView


class WindowState(StrEnum):
    """In which state a window is at this moment; the word beside the bar."""

    SHUT = "shut"
    OPENING = "opening"
    """30 minutes or less to go."""
    OPEN = "open"
    CLOSING = "closing"
    """Within the lead time of the latest mark."""
    AT_RISK = "at risk"
    """By the live plan it will be missed."""
    MISSED = "missed"


class WindowView(Model):
    """A window as an opening in time: the next mark of a task. For a task that waits these are marks
    of its start; for one in hand, of its end."""

    state: WindowState
    opens: AwareDatetime | None
    planned: AwareDatetime | None
    """By the live plan, what has happened since included."""
    closes: AwareDatetime | None
    late_min: int = 0
    """Minutes past the latest mark, expected or in fact."""
    lead_min: int = 60
    window: WindowClass | None = None


class TemperatureView(Model):
    """What the probe on a task says. The curve comes separately, from the readings store."""

    probe: ProbeId
    probe_name: str
    celsius: float | None
    measured_at: AwareDatetime | None
    by_hand: bool = False
    slope_c_per_min: float | None
    silent_since: AwareDatetime | None
    target_c: float | None
    direction: Literal["at least", "at most", ""]
    ceiling_c: float | None
    hold_min: int
    held_min: float
    reached_at: AwareDatetime | None
    met_at: AwareDatetime | None
    arrival_from: AwareDatetime | None
    arrival_to: AwareDatetime | None
    earlier_runs: int = 0
    """How many earlier runs of the step in its place the interval leans on."""
    counts_from: AwareDatetime | None = None
    """The kitchen's clock was set back: from then on what the probe says counts again."""
    cooling: str = ""
    verdict: LimitVerdict | None = None
    """What the curve says by now of the limit that the step has; no clearance."""


class WeighingView(Model):
    """A step that is done at a weight: where it stands."""

    share: float
    """Of the first weight, at which it is done."""
    first_kg: float | None = None
    last_kg: float | None = None
    last_at: AwareDatetime | None = None
    wanted_kg: float | None = None
    reached: bool = False
    expected_from: AwareDatetime | None = None
    expected_to: AwareDatetime | None = None
    earlier_runs: int = 0
    """How many runs before this one that leans on."""


class AmountView(Model):
    """Something to weigh or take, scaled to this batch."""

    what: str
    quantity: Quantity
    lots: tuple[LotCode, ...] = ()
    """Where a component comes from."""
    allergens: tuple[str, ...] = ()
    ready: AwareDatetime | None = None
    """Of an ingredient that is still to come, or to ripen: when it is there."""
    ripens: bool = False


class TaskView(Model):
    """One task with all that a cook needs."""

    task: TaskId
    kind: TaskKind
    title: str
    process: str
    lot: LotCode | None
    order: OrderId | None
    recipe_name: str
    step_number: int
    step_count: int
    station: StationId
    equipment: EquipmentId | None
    equipment_name: str
    status: str
    """A `TaskStatus` value."""
    quantity: Quantity | None
    started_at: AwareDatetime | None
    planned_start: AwareDatetime
    planned_end: AwareDatetime
    """By the live plan."""
    due_since: AwareDatetime | None = None
    """When its plan wanted it begun, while it could be and is not: the live plan's start moves on with the clock."""
    latest_start: AwareDatetime | None = None
    """While it waits: the latest start found, by a repair that was checked, that keeps every order on time and every
    window. None until it has been looked for."""
    latest_is_exact: bool = False
    """Whether a minute later was tried and did not; else it may be later still."""
    usual_min: int
    longest_min: int
    hands_min: int
    """Minutes of attended work in it; 0: on its own."""
    crew: tuple[str, ...]
    """Names of who is planned for it."""
    method: tuple[str, ...]
    cautions: tuple[str, ...]
    allergens: tuple[str, ...]
    amounts: tuple[AmountView, ...]
    leaves: tuple[LeaveView, ...] = ()
    gates: tuple[GateView, ...]
    follow_on: FollowOnView | None = None
    """While it waits and its turn has come: why a start would be refused for the sake of what follows."""
    temperature: TemperatureView | None
    window: WindowView | None
    measure: Measure | None
    weighing: WeighingView | None = None
    """Of a step in hand that is done at a weight."""
    target: Target | None = None
    """What it must reach, whether or not a probe is there."""
    limit_said: LimitVerdict | None = None
    """What probes and readings by hand together say by now of the limit that the step has; no clearance."""
    pieces_per_tray: int = 0
    pieces_made: int = 0
    pieces_wanted: int = 0
    problems: tuple[str, ...] = ()
    lot_on_hold: bool = False
    held_in_place: bool = False
    """No new plan may move it."""
    meant_for: str = ""
    """Of a stay: the lot or order that takes the food."""
    upkeep: Upkeep | None = None
    """Of a clean or a pre-cool: which."""
    after_lot: LotCode | None = None
    """Of a clean-down: the run before it."""
    removes: tuple[str, ...] = ()
    """Of a clean-down: allergens of the run before that the next one must not meet."""
    removes_colour: str = ""
    """Of a clean-down: the colour of the run before, where the next one is paler."""


class FillBlock(Model):
    """A lot in a store."""

    lot: LotCode
    litres: float
    booked: bool
    """True: not there yet, but the plan wants the room within the next 24 h."""


class StoreView(Model):
    """A cold place: temperature and fill."""

    equipment: EquipmentId
    name: str
    floor: Floor
    celsius: float | None
    silent_since: AwareDatetime | None
    outside_since: AwareDatetime | None
    low_c: float | None
    high_c: float | None
    capacity: Quantity
    filled: float
    blocks: tuple[FillBlock, ...]


class LastActView(Model):
    """The last act at a station, and whether it can be undone."""

    act: int
    what: str
    title: str
    person: str
    at: AwareDatetime
    undoable: bool


class IdleView(Model):
    """Nothing in hand: what comes, and how the night went."""

    next_task: TaskView | None
    free_until: AwareDatetime | None
    may_start_now: bool
    """As it stands, once what no probe can judge was looked at."""
    why_not: str = ""
    """What keeps it from starting now, in words."""
    then_title: str = ""
    """What has to follow soon after, if it is started this much earlier than planned."""
    then_by: AwareDatetime | None = None
    alarms_last_12h: int
    probes_heard: int
    probes_total: int


class PersonView(Model):
    """Somebody who may be picked at the screen."""

    id: CrewId
    name: str
    on_shift: bool
    manager: bool


class StationView(Model):
    """Everything on one station screen."""

    station: StationId
    name: str
    in_hand: tuple[TaskView, ...]
    """Attended tasks started or due here now, most pressing first; the screen shows the first two large."""
    next_here: tuple[TaskView, ...]
    """Tasks that need hands here within a day, by next mark; the next one however far it is."""
    later_here: int = 0
    """How many more there are after that."""
    later_from: AwareDatetime | None = None
    """When the first of those is planned."""
    on_its_own: tuple[TaskView, ...]
    """Running or waiting without hands, in places of this station or feeding it, by next mark."""
    stores: tuple[StoreView, ...]
    alarms: tuple[Alarm, ...]
    """For this station and critical ones of the house; not seen first."""
    last_act: LastActView | None
    idle: IdleView | None
    people: tuple[PersonView, ...]
    plan_revision: int
    proposal_waits: bool


class OrderView(Model):
    """An order and its outlook."""

    order: OrderId
    customer: str
    due: AwareDatetime
    lines: tuple[str, ...]
    """Such as '3 L basil custard'."""
    outlook: Outlook | None
    """By the live plan."""
    simulated_runs: int = 0
    """From how many runs its chance comes; 0: nobody simulated."""
    handed_over_at: AwareDatetime | None
    lots: tuple[LotCode, ...]


class LotView(Model):
    """A lot and where it stands."""

    lot: LotCode
    recipe: RecipeId
    name: str
    quantity: Quantity
    status: str
    reason: str
    where: str
    asked: DeviationId | None = None
    """The deviation under which nobody has said yet what becomes of it: until then it goes nowhere, on hold or not."""
    made_at: AwareDatetime | None
    use_by: AwareDatetime | None = None
    """By its own shelf life, and that of the oldest part that was not frozen with it; expected, until it is made."""
    allergens: tuple[str, ...]
    for_orders: tuple[OrderId, ...]
    made_from: LotCode | None = None
    """Of a by-product: the batch that left it."""
    weighed: bool = True
    """Of a by-product: whether its amount was weighed, or is what the recipe lets expect."""
    bought: bool = False
    """An ingredient as it was received."""
    mark: DayMarkView | None = None
    """Of food that must be kept cold, once it is begun."""


class ProbeView(Model):
    """A probe and what it last said."""

    probe: Probe
    equipment_name: str
    celsius: float | None
    measured_at: AwareDatetime | None
    slope_c_per_min: float | None
    silent_since: AwareDatetime | None
    task_title: str
    task: TaskId | None
    low_c: float | None
    high_c: float | None
    outside_since: AwareDatetime | None
