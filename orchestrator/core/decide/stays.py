"""Stays begin and end at the instant at which work beside them does."""

from datetime import datetime

from orchestrator.core.decide.case import Case
from orchestrator.core.events import Event, TaskFinished, TaskStarted
from orchestrator.core.ids import TaskId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import TaskStatus


def stays_end(case: Case, task: PlannedTask, at: datetime) -> tuple[Event, ...]:
    """The stays in hand that a task takes from end as it begins."""
    stays = [s for s in case.threads.joined_stays(task) if case.state.record(s.id).status is TaskStatus.IN_HAND]
    return tuple(TaskFinished(task=stay.id, at=at, person=case.person) for stay in stays)


def stays_begin(case: Case, task: PlannedTask, at: datetime) -> tuple[Event, ...]:
    """The stays whose last filling task ends now."""
    events = []
    for follower_id, _ in case.threads.followers.get(task.id, ()):
        stay = case.threads.tasks[follower_id]
        waits = case.state.record(stay.id).status is TaskStatus.WAITING
        if stay.kind is TaskKind.STAY and waits and _others_ended(case, stay, task.id):
            events.append(TaskStarted(task=stay.id, at=at, person=case.person, equipment=stay.equipment))
    return tuple(events)


def _others_ended(case: Case, stay: PlannedTask, but: TaskId) -> bool:
    others = (case.state.record(link.after).status for link in stay.links if link.after != but)
    return all(status in (TaskStatus.DONE, TaskStatus.SKIPPED) for status in others)
