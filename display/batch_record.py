"""The plain record of one lot, put together from the state and the log: who did what when, and what was measured."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from orchestrator.core.clock_events import ClockSet
from orchestrator.core.events import (
    ActUndone,
    Event,
    FactRecorded,
    Recorded,
    TaskFinished,
    TaskStarted,
)
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.late_entry import is_late
from orchestrator.core.lot_events import (
    LotDecided,
    LotHeld,
    RecordLookedThrough,
)
from orchestrator.core.models import Batch, Peg, PlannedTask, ProbeFact, TaskKind
from orchestrator.core.models.kitchen import StockLot
from orchestrator.core.record_entries import DEVIATIONS, OF_TASK, doubted, task_of
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.core.whole import whole


@dataclass(frozen=True)
class Line:
    """Something that happened to the lot; the words are the page's."""

    at: datetime
    """When it was put on record; the event has the time it was done."""
    event: Event
    title: str
    undone: bool = False
    back: Event | None = None
    """What an undo took back."""

    @property
    def late_min(self) -> int:
        """Whole minutes between the act and its entry."""
        return max(0, int((self.at - getattr(self.event, "at", self.at)).total_seconds() // 60))

    @property
    def late(self) -> bool:
        """Entered late: what was written on paper."""
        return is_late(getattr(self.event, "at", self.at), self.at)


@dataclass(frozen=True)
class Step:
    """A task of the lot and what is known of it."""

    task: PlannedTask
    record: TaskRecord
    equipment: str


@dataclass(frozen=True)
class Measured:
    """What a probe's curve meant, when that changed."""

    at: datetime
    fact: ProbeFact
    probe: str
    place: str
    title: str


@dataclass(frozen=True)
class Look:
    """Somebody looked the record through."""

    told: RecordLookedThrough
    recorded_at: datetime
    changed_at: datetime | None
    """When it changed last, after they had seen it; none: it has not."""
    worked: bool
    """They have worked on the lot themselves."""


@dataclass
class Record:
    """All of it, in the order of time."""

    lot: LotCode
    batch: Batch | None
    stock: StockLot | None
    name: str
    parents: list[Peg]
    consumers: list[Peg]
    steps: list[Step]
    log: list[Line] = field(default_factory=list)
    """Every act, in the order in which it was entered; those taken back stay, and say so."""
    deviations: list[Line] = field(default_factory=list)
    temperatures: list[Measured] = field(default_factory=list)
    through: list[Look] = field(default_factory=list)
    """Who looked it through, the latest first."""


def record_of(state: State, records: Iterable[Recorded], lot: LotCode) -> Record:
    """The record of a lot.

    Raises:
        KeyError: neither planned, nor on hand, nor decided about.
    """
    state = whole(state)
    plan, kitchen = state.plan, state.kitchen
    batch = next((b for b in plan.batches if b.lot == lot), None) if plan else None
    stock = next((s for s in kitchen.stock if s.lot == lot), None) if kitchen else None
    if batch is None and stock is None and lot not in state.lots:
        raise KeyError(lot)
    made = batch or stock
    names = {recipe.id: recipe.name for recipe in kitchen.recipes} if kitchen else {}
    steps = _steps(state, lot)
    found = Record(
        lot=lot,
        batch=batch,
        stock=stock,
        name=names.get(made.recipe, str(made.recipe)) if made else "",
        parents=[p for p in plan.pegs if p.batch == lot] if plan else [],
        consumers=[p for p in plan.pegs if p.lot == lot] if plan else [],
        steps=steps,
    )
    log = list(records)
    _tell(state, found, log)
    found.through = looks_through(found, log, entries(state, log).get(lot, []))
    return found


Entry = tuple[int, datetime]
"""Number and instant of an event."""


def entries(state: State, log: Iterable[Recorded]) -> dict[LotCode, list[Entry]]:
    """What is on the record of each lot, in order: acts, what was taken back, what went in, doubts, decisions, what
    probes judged."""
    state = whole(state)
    lots = {t.id: t.lot for t in state.plan.tasks if t.lot is not None} if state.plan else {}
    doubts = {one.id: one.lots for one in state.deviations.values()}
    found: dict[LotCode, list[Entry]] = {}
    acts: dict[int, tuple[LotCode, ...]] = {}
    for record in log:
        event = record.event
        if isinstance(event, ActUndone):
            about = acts.get(event.act, ())
        elif (task := task_of(event)) is not None:
            about = acts[record.seq] = (lots[task],) if task in lots else ()
        else:
            about = doubted(event, doubts)
        for lot in about:
            found.setdefault(lot, []).append((record.seq, record.at))
    return found


def looks_through(found: Record, log: Iterable[Recorded], entered: Sequence[Entry]) -> list[Look]:
    """Who looked a record through, and whether it changed after they had seen it; the latest first."""
    workers = {who for step in found.steps for who in (step.record.started_by, step.record.finished_by)}
    looks = []
    for record in log:
        told = record.event
        if isinstance(told, RecordLookedThrough) and told.lot == found.lot:
            later = [at for seq, at in entered if seq > told.upto]
            looks.append(Look(told, record.at, max(later, default=None), told.person in workers))
    return looks[::-1]


def _steps(state: State, lot: LotCode) -> list[Step]:
    names = {e.id: e.name for e in state.kitchen.equipment} if state.kitchen else {}
    tasks = [t for t in state.plan.tasks if t.lot == lot] if state.plan else []
    steps = []
    for task in tasks:
        entry = state.record(task.id)
        place = entry.equipment or task.equipment
        if entry.status is not TaskStatus.WAITING:
            steps.append(Step(task, entry, names.get(place, "") if place else ""))
    return sorted(steps, key=lambda s: (s.record.started_at or s.record.finished_at or s.task.start, s.task.id))


def _tell(state: State, found: Record, records: list[Recorded]) -> None:
    titles = {t.id: t.title for t in state.plan.tasks if t.lot == found.lot} if state.plan else {}
    undone = {r.event.act for r in records if isinstance(r.event, ActUndone)}
    acts = {r.seq: r.event for r in records if r.seq in undone}
    clock: list[Line] = []
    for recorded in records:
        event = recorded.event
        if isinstance(event, ClockSet):
            clock.append(Line(recorded.at, event, ""))
            continue
        if isinstance(event, FactRecorded):
            _measure(state, found, titles, event)
            continue
        back = acts.get(event.act) if isinstance(event, ActUndone) else None
        about = back if isinstance(back, OF_TASK) else event
        task = about.task if isinstance(about, OF_TASK) else None
        of_lot = isinstance(event, LotHeld | LotDecided | RecordLookedThrough) and event.lot == found.lot
        if not of_lot and (task is None or task not in titles):
            continue
        line = Line(recorded.at, event, titles.get(task, "") if task else "", recorded.seq in undone, back)
        if found.log:  # between two acts of the lot it says why their times do not follow on each other
            found.log += clock
        clock.clear()
        found.log.append(line)
        in_doubt = of_lot and not isinstance(event, RecordLookedThrough)
        if in_doubt or back is not None or isinstance(event, DEVIATIONS) or _overridden(event):
            found.deviations.append(line)


def _overridden(event: Event) -> bool:
    return isinstance(event, TaskStarted | TaskFinished) and bool(event.override_reason)


def _measure(state: State, found: Record, titles: Mapping[TaskId, str], event: FactRecorded) -> None:
    """Facts that judged a step of the lot, and those of places while it was kept there."""
    fact = event.fact
    probe, place = _names(state, fact)
    if fact.task is not None and fact.task in titles:
        found.temperatures.append(Measured(event.at, fact, probe, place, titles[fact.task]))
        return
    for step in found.steps:
        entry = step.record
        there = (entry.equipment or step.task.equipment) == fact.equipment and step.task.kind is TaskKind.STAY
        begun = entry.started_at is not None and entry.started_at <= event.at
        if fact.task is None and there and begun and (entry.finished_at is None or event.at <= entry.finished_at):
            found.temperatures.append(Measured(event.at, fact, probe, place, step.task.title))
            return


def _names(state: State, fact: ProbeFact) -> tuple[str, str]:
    kitchen = state.kitchen
    if kitchen is None:
        return str(fact.probe), str(fact.equipment)
    probe = next((p.name for p in kitchen.probes if p.id == fact.probe), str(fact.probe))
    place = next((e.name for e in kitchen.equipment if e.id == fact.equipment), str(fact.equipment))
    return probe, place
