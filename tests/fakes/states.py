"""States of the small kitchen in which so much has happened, written down without deciding anything."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from orchestrator.core.events import AlarmAcknowledged, Event, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import AlarmId, CommandId, CrewId, TaskId
from orchestrator.core.models import Kitchen, Plan, TaskKind
from orchestrator.core.plan_index import plan_index
from orchestrator.core.state import State, TaskRecord, TaskStatus
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

COOK = CrewId("early-cook")


def planned(kitchen: Kitchen | None = None, plan: Plan | None = None) -> State:
    """The small kitchen with its plan, and nothing begun."""
    kitchen = kitchen or small_kitchen()
    return State(seq=1, kitchen=kitchen, plan=plan or small_plan(kitchen), revision=1)


def record(state: State, task: str, entry: TaskRecord) -> State:
    """The state with another record of a task."""
    return replace(state, tasks={**state.tasks, TaskId(task): entry})


def begun(state: State, task: str, when: str, *, by: CrewId | None = COOK, reason: str = "") -> State:
    """A task was started then; stays that it ends are over."""
    assert state.plan is not None
    index = plan_index(state.plan)
    for stay in index.joined_stays(index.tasks[TaskId(task)]):
        before = state.record(stay.id)
        state = record(state, stay.id, replace(before, status=TaskStatus.DONE, finished_at=at(when)))
    return record(state, task, TaskRecord(status=TaskStatus.IN_HAND, started_at=at(when), started_by=by, reason=reason))


def done(state: State, task: str, start: str, end: str) -> State:
    """A task was started and finished then; stays that it fills have begun."""
    assert state.plan is not None
    state = begun(state, task, start)
    state = record(
        state, task, replace(state.record(TaskId(task)), status=TaskStatus.DONE, finished_at=at(end), finished_by=COOK)
    )
    index = plan_index(state.plan)
    for follower, _ in index.followers.get(TaskId(task), ()):
        if index.tasks[follower].kind is TaskKind.STAY:
            state = record(state, follower, TaskRecord(status=TaskStatus.IN_HAND, started_at=at(end)))
    return state


def base_ageing(kitchen: Kitchen | None = None) -> State:
    """Wednesday as planned: C1 and S1 stand in the fridge."""
    state = planned(kitchen)
    for task, start, end in (
        ("C1.cook", "Wed 08:00", "Wed 08:40"),
        ("C1.chill", "Wed 08:45", "Wed 10:15"),
        ("S1.simmer", "Wed 10:30", "Wed 11:00"),
        ("S1.chill", "Wed 11:00", "Wed 12:00"),
    ):
        state = done(state, task, start, end)
    return state


def hardening(kitchen: Kitchen | None = None) -> State:
    """Thursday as planned: both lots are in the freezer."""
    state = base_ageing(kitchen)
    for task, start, end in (
        ("B1.churn", "Thu 09:00", "Thu 09:30"),
        ("churn.clean.S1", "Thu 09:35", "Thu 09:55"),
        ("S1.churn", "Thu 10:00", "Thu 10:30"),
    ):
        state = done(state, task, start, end)
    return state


def with_events(state: State, events: Iterable[Event], now: datetime) -> State:
    """The state after these events."""
    for event in events:
        entry = Recorded(seq=state.seq + 1, at=now, command_id=CommandId(f"c{state.seq}"), event=event)
        state = evolve(state, entry)
    return state


def seen(state: State, alarm: str, now: datetime) -> State:
    """Somebody has seen an alarm."""
    return with_events(state, [AlarmAcknowledged(alarm=AlarmId(alarm), at=now, person=COOK)], now)
