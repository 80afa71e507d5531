"""Where every task of a plan is in its life: told once for a state, since a state never changes."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from orchestrator.core.ids import TaskId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.plan_index import Same
from orchestrator.core.state import LotStatus, State, TaskStatus


@dataclass(frozen=True, slots=True)
class Progress:
    """The tasks of a plan, sorted by where they are in their life."""

    statuses: Mapping[TaskId, TaskStatus]
    waiting_work: tuple[PlannedTask, ...]
    """Work and clean-downs that have not begun, but for lots that are gone."""
    in_hand: tuple[PlannedTask, ...]
    begun_work: tuple[PlannedTask, ...]
    """Work and clean-downs that are in hand or over, but for lots that are gone."""


def status_of(state: State, task: PlannedTask) -> TaskStatus:
    """Where a task is in its life; stock on hand stays in its place without anybody having begun it."""
    record = state.tasks.get(task.id)
    if record is not None:
        return record.status
    if task.kind is TaskKind.STAY and not task.links:
        return TaskStatus.IN_HAND
    return TaskStatus.WAITING


def actual_start(state: State, task: PlannedTask) -> datetime | None:
    """When a task began in fact; none while it waits."""
    record = state.tasks.get(task.id)
    if record is not None:
        return record.started_at or record.finished_at
    return task.start if status_of(state, task) is TaskStatus.IN_HAND else None


def progress_of(state: State) -> Progress:
    """All of a state's plan; the same state gets the same answer."""
    return _progress(Same(state))


@lru_cache(maxsize=8)
def _progress(same: Same[State]) -> Progress:
    state = same.thing
    tasks = state.plan.tasks if state.plan is not None else ()
    statuses = {task.id: status_of(state, task) for task in tasks}
    gone = {lot for lot, record in state.lots.items() if record.status in {LotStatus.DISCARDED, LotStatus.REWORK}}
    work = [task for task in tasks if task.kind is not TaskKind.STAY and task.lot not in gone]
    return Progress(
        statuses=statuses,
        waiting_work=tuple(t for t in work if statuses[t.id] is TaskStatus.WAITING),
        in_hand=tuple(t for t in tasks if statuses[t.id] is TaskStatus.IN_HAND),
        begun_work=tuple(t for t in work if statuses[t.id] is not TaskStatus.WAITING),
    )
