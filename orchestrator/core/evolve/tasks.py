"""What acts on tasks change, and how an act is taken back."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final, Literal, assert_never

from orchestrator.core.events import (
    ActUndone,
    ProblemReported,
    Recorded,
    TaskExtended,
    TaskFinished,
    TaskSkipped,
    TaskStarted,
    TemperatureEntered,
    TrayFinished,
    WeightEntered,
)
from orchestrator.core.ids import TaskId
from orchestrator.core.lot_trace import taken_by
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.plan_index import plan_index
from orchestrator.core.state import Act, State, TaskRecord, TaskStatus, WeightExpected

MOST_ACTS: Final = 50
"""So many acts can be taken back."""

TaskEvent = (
    TaskStarted
    | TaskFinished
    | TrayFinished
    | TaskExtended
    | ProblemReported
    | TaskSkipped
    | TemperatureEntered
    | WeightEntered
)
_What = Literal["started", "finished", "tray", "extended", "problem", "skipped", "temperature", "weight"]


def apply(state: State, recorded: Recorded, event: TaskEvent) -> State:
    """The task's record changes, and the act is kept so that it can be taken back."""
    before = state.tasks.get(event.task)
    acts = _acts(state, recorded, event, before)
    after = _record(before or TaskRecord(), event)
    changed = replace(state, tasks={**state.tasks, event.task: after}, acts=acts)
    # What a step that is left out would have taken goes on without it: its stay has ended.
    return _taken(changed, event.task) if isinstance(event, TaskStarted | TaskSkipped) else changed


def _taken(state: State, task: TaskId) -> State:
    """What goes into the food as a task begins stays known, whatever later plans say."""
    planned = plan_index(state.plan).tasks.get(task) if state.plan is not None else None
    if planned is None or state.kitchen is None or state.plan is None:
        return state
    batch = plan_index(state.plan).batches.get(planned.lot) if planned.lot is not None else None
    if batch is not None and planned.kind is TaskKind.WORK:
        state = replace(state, begun={**state.begun, batch.lot: batch})
    return _with_taking(state, planned)


def _with_taking(state: State, task: PlannedTask) -> State:
    if state.kitchen is None or state.plan is None:
        return state
    taking = taken_by(state.kitchen, state.plan, task, state.takings)
    return state if taking is None else replace(state, takings={**state.takings, task.id: taking})


def _record(record: TaskRecord, event: TaskEvent) -> TaskRecord:
    match event:
        case TaskStarted() | TaskFinished() | TaskSkipped():
            return _turned(record, event)
        case TrayFinished():
            return replace(record, pieces=record.pieces + event.pieces)
        case TaskExtended():
            return replace(record, extended_min=record.extended_min + event.minutes)
        case ProblemReported():
            says = f"{event.what}: {event.text}" if event.text else event.what
            return replace(record, problems=(*record.problems, says))
        case TemperatureEntered():
            readings = (*record.hand_readings, (event.at, event.celsius))
            return replace(record, hand_readings=readings, hand_by={**record.hand_by, event.at: event.person})
        case WeightEntered():
            told = WeightExpected(
                event.expected_from, event.expected_to, event.expected_end, event.no_arrival, event.earlier_runs
            )
            weighings = (*record.weighings, (event.at, event.kilograms))
            return replace(record, weighings=weighings, weight_expected=told)
        case _:
            assert_never(event)


def _turned(record: TaskRecord, event: TaskStarted | TaskFinished | TaskSkipped) -> TaskRecord:
    """A new status; see `task_lifecycle`."""
    match event:
        case TaskStarted():
            return replace(
                record,
                status=TaskStatus.IN_HAND,
                started_at=event.at,
                started_by=event.person,
                equipment=event.equipment,
                gates=event.gates,
                reason=event.override_reason or record.reason,
            )
        case TaskFinished():
            return replace(
                record,
                status=TaskStatus.DONE,
                # A stay of stock on hand may end without its beginning being on record.
                started_at=record.started_at or event.at,
                finished_at=event.at,
                finished_by=event.person,
                measured={**record.measured, **event.measured},
                reason=event.override_reason or record.reason,
            )
        case TaskSkipped():
            return replace(
                record,
                status=TaskStatus.SKIPPED,
                finished_at=event.at,
                finished_by=event.person,
                reason=event.reason,
            )
        case _:
            assert_never(event)


_WHAT: Final[Mapping[str, _What]] = {
    "task_started": "started",
    "task_finished": "finished",
    "tray_finished": "tray",
    "task_extended": "extended",
    "problem_reported": "problem",
    "task_skipped": "skipped",
    "temperature_entered": "temperature",
    "weight_entered": "weight",
}


def _acts(state: State, recorded: Recorded, event: TaskEvent, before: TaskRecord | None) -> tuple[Act, ...]:
    """The first event of a command is the act; what follows in the same command belongs to it."""
    last = state.acts[-1] if state.acts else None
    if last is not None and last.command_id == recorded.command_id:
        # Only what the act found counts, so a task changed twice keeps its first record.
        joined = replace(last, before={event.task: before, **last.before})
        return (*state.acts[:-1], joined)
    act = Act(
        seq=recorded.seq,
        what=_WHAT[event.kind],
        task=event.task,
        person=event.person,
        at=event.at,
        before={event.task: before},
        command_id=recorded.command_id,
    )
    return (*state.acts, act)[-MOST_ACTS:]


def undo(state: State, event: ActUndone) -> State:
    """Every task and lot that the act changed is as before it; an act no longer kept changes nothing."""
    act = next((act for act in state.acts if act.seq == event.act), None)
    if act is None:
        return state
    tasks, lots = dict(state.tasks), dict(state.lots)
    for task, record in act.before.items():
        if record is None:
            tasks.pop(task, None)
        else:
            tasks[task] = record
    for stay in _shares(state, act.before, tasks):
        tasks.pop(stay, None)
    for lot, lot_record in act.lots_before.items():
        if lot_record is None:
            lots.pop(lot, None)
        else:
            lots[lot] = lot_record
    begun = {t: taking for t, taking in state.takings.items() if t not in act.before or _has_begun(tasks.get(t))}
    pantry = state.pantry.without(frozenset(t for t in act.before if not _has_begun(tasks.get(t))))
    pantry = pantry.without_left_by(frozenset(t for t in act.before if not _has_ended(tasks.get(t))))
    acts = tuple(a for a in state.acts if a.seq != act.seq)
    return replace(state, tasks=tasks, lots=lots, takings=begun, pantry=pantry, acts=acts)


def _has_begun(record: TaskRecord | None) -> bool:
    return record is not None and record.status is not TaskStatus.WAITING


def _has_ended(record: TaskRecord | None) -> bool:
    return record is not None and record.status is TaskStatus.DONE


def _shares(
    state: State, before: Mapping[TaskId, TaskRecord | None], tasks: Mapping[TaskId, TaskRecord]
) -> list[TaskId]:
    """Stays that a later plan began from what is no longer ended: they wait again."""
    unfinished = {task for task in before if task not in tasks or tasks[task].finished_at is None}
    return [
        task.id
        for task in (state.plan.tasks if state.plan is not None else ())
        if task.kind is TaskKind.STAY
        and task.id not in before
        and any(link.after in unfinished for link in task.links)
        and task.id in tasks
        and tasks[task.id].status is TaskStatus.IN_HAND
    ]
