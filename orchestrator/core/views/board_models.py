"""Shapes of the production board: blocks, rows, hands, and the whole of it."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, OrderId, TaskId
from orchestrator.core.models import Model, Move
from orchestrator.core.models.alarm import Alarm
from orchestrator.core.models.equipment import Floor
from orchestrator.core.models.risk import WindowChance
from orchestrator.core.quantities import Quantity
from orchestrator.core.views.figures import ChanceChange
from orchestrator.core.views.models import OrderView, PersonView


class HandsSpan(Model):
    """From when to when somebody is needed, as the live plan has it."""

    start: AwareDatetime
    end: AwareDatetime
    crew: tuple[CrewId, ...]


class BlockView(Model):
    """A task, clean-down, stop or lot on the board."""

    task: TaskId | None
    label: str
    """Lot code, or empty for stops and clean-downs."""
    title: str
    start: AwareDatetime
    end: AwareDatetime
    done_until: AwareDatetime | None
    """How far it is in fact, for done and running ones."""
    status: Literal["planned", "in hand", "done", "skipped", "clean", "stopped"]
    maintenance: bool = False
    """A stop that was planned beforehand; ``title`` says why."""
    flag: Literal["", "moved", "tight", "late", "at risk", "missed", "on hold"] = ""
    planned: AwareDatetime | None = None
    """Where the plan has its start, when it is late: the live plan has it later."""
    latest_start: AwareDatetime | None = None
    """While it waits: the latest start found that keeps every order on time and every window; none until then."""
    latest_is_exact: bool = False
    """Whether a minute later was tried and did not; else it may be later still."""
    litres: float = 0.0
    """Of a lot in a store."""
    opens: AwareDatetime | None = None
    """Within a stay: before this it is too early to leave."""
    closes: AwareDatetime | None = None
    """Latest leaving of a stay, or latest start of a task."""
    feeds: tuple[TaskId, ...] = ()
    """Tasks that follow it, for the threads between floors."""
    process: str = ""
    """What is done, such as ``churn``; empty for stops."""
    lot: LotCode | None = None
    order: OrderId | None = None
    place: str = ""
    """Name of the machine, or of the station where there is none."""
    stay: bool = False
    spans: tuple[HandsSpan, ...] = ()


class RowView(Model):
    """One machine or place on the board."""

    equipment: EquipmentId
    name: str
    floor: Floor
    store: bool
    capacity: Quantity | None
    celsius: float | None
    low_c: float | None
    high_c: float | None
    outside_since: AwareDatetime | None
    stopped: bool
    blocks: tuple[BlockView, ...]


class BatchRow(Model):
    """What the board says of a batch beside its blocks."""

    lot: LotCode
    name: str
    size: Quantity
    orders: tuple[OrderId, ...]
    """That it is for, by due time; through other batches too."""


class Present(Model):
    """From when to when somebody works."""

    start: AwareDatetime
    end: AwareDatetime


class CrewRow(Model):
    """Somebody of the crew, and when they work: shifts less breaks."""

    crew: CrewId
    name: str
    present: tuple[Present, ...]


class HandsPoint(Model):
    """From this instant on, so many hands are needed and present."""

    at: AwareDatetime
    needed: int
    present: int


class ProposalView(Model):
    """A plan that waits for a person."""

    proposal: int
    moves: tuple[Move, ...]
    waits_for: tuple[str, ...]
    decide_by: AwareDatetime
    chances: tuple[ChanceChange, ...] = ()
    """Orders that are less than certain with either plan, by due time."""


class BoardView(Model):
    """The whole kitchen over its days."""

    start: AwareDatetime
    end: AwareDatetime
    hands: tuple[HandsPoint, ...]
    rows: tuple[RowView, ...]
    """In the order of the floors, fire first."""
    orders: tuple[OrderView, ...]
    alarms: tuple[Alarm, ...]
    proposal: ProposalView | None
    plan_revision: int
    adopted_at: AwareDatetime | None
    moves: tuple[Move, ...]
    people: tuple[PersonView, ...]
    shaky: tuple[WindowChance, ...] = ()
    """Windows still open that were kept in fewer than 19 of 20 simulated runs of the plan, the least likely first."""
    simulated_runs: int = 0
    unplaced: tuple[BlockView, ...] = ()
    """Tasks that need no machine."""
    batches: tuple[BatchRow, ...] = ()
    """By the start of their first task."""
    crew: tuple[CrewRow, ...] = ()

    @property
    def tasks(self) -> tuple[BlockView, ...]:
        """Every task of every place and of none, by its start."""
        found = [block for row in self.rows for block in row.blocks if block.task] + list(self.unplaced)
        return tuple(sorted(found, key=lambda block: (block.start, block.task or "")))
