"""When a task may start, and when one in hand may end: from its links and stays, actual times first."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple, Protocol

from orchestrator.core.ids import TaskId
from orchestrator.core.models import PlannedTask, TaskKind, WindowClass
from orchestrator.core.pace import longest_length, minutes_here, usual_length
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.progress import actual_start, status_of
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.ties import Tie, tied


class Timed(Protocol):
    """Something with a start and an end, such as a projected task."""

    @property
    def start(self) -> datetime:
        """When it begins."""

    @property
    def end(self) -> datetime:
        """When it ends."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """A window. For a task that waits it is the window of its start; for a stay in hand, of its end."""

    opens: datetime | None = None
    closes: datetime | None = None
    cls: WindowClass | None = None
    """Class of what sets ``closes``."""
    opening_cls: WindowClass | None = None
    """Class of what sets ``opens``, where that is more than the mere end of the task before."""
    opened_by: TaskId | None = None
    closed_by: TaskId | None = None
    """The task before (or the stay) that sets each side."""
    firm: bool = True
    """True: what sets ``closes`` has happened in fact; False: it is still only expected."""


class _Side(NamedTuple):
    at: datetime
    cls: WindowClass | None
    by: TaskId
    firm: bool


def actual_end(state: State, task: TaskId) -> datetime | None:
    """When a task ended in fact, skipped ones included."""
    record = state.tasks.get(task)
    return record.finished_at if record else None


def _start(state: State, task: PlannedTask, live: Mapping[TaskId, Timed] | None) -> tuple[datetime, bool]:
    actual = actual_start(state, task)
    if actual is not None:
        return actual, True
    if live is not None and task.id in live:
        return live[task.id].start, False
    return task.start, False


def _end(state: State, task: PlannedTask, live: Mapping[TaskId, Timed] | None) -> tuple[datetime, bool]:
    actual = actual_end(state, task.id)
    if actual is not None:
        return actual, True
    if live is not None and task.id in live:
        return live[task.id].end, False
    record = state.tasks.get(task.id)
    if record is not None and record.status is TaskStatus.IN_HAND and record.started_at is not None:
        return (record.started_at + usual_length(state, task) if task.kind is not TaskKind.STAY else task.end), False
    return task.end, False


def _sides(state: State, tie: Tie, live: Mapping[TaskId, Timed] | None) -> tuple[_Side, _Side | None]:
    """Earliest and latest start by one link: end of the task before + least, + most; start + least
    and + most of a stay that this start would end."""
    before = tie.before
    counted, firm = _start(state, before, live) if tie.joins else _end(state, before, live)
    opens = _Side(counted + tie.least, tie.cls if tie.least else None, before.id, firm)
    if tie.most is None:
        return opens, None
    return opens, _Side(counted + tie.most, tie.cls, before.id, firm)


def _lives(state: State, task: PlannedTask, live: Mapping[TaskId, Timed] | None) -> Iterator[_Side]:
    """When the shelf lives of what went in end."""
    tasks = plan_index(state.plan).tasks if task.lives and state.plan is not None else {}
    for life in task.lives:
        made = tasks.get(life.after) if life.after is not None else None
        if made is not None and life.most is not None:
            ended, firm = _end(state, made, live)
            yield _Side(ended + timedelta(minutes=life.most), WindowClass.SAFETY, made.id, firm)
        elif life.until is not None:
            yield _Side(life.until, WindowClass.SAFETY, task.id, True)


def _in_hand(state: State, task: PlannedTask) -> Bounds:
    begun = actual_start(state, task)
    if begun is None:
        return Bounds()
    if task.kind is not TaskKind.STAY or task.stay is None:
        step = kitchen_index(state.kitchen).step(task) if state.kitchen is not None else None
        if step is not None and step.target is not None:
            return Bounds()  # its temperature says when it is over, not the clock
        shortest = timedelta(minutes=minutes_here(state, task).shortest)
        return Bounds(opens=begun + shortest, closes=begun + longest_length(state, task))
    stay = task.stay
    return Bounds(
        opens=begun + timedelta(minutes=stay.least),
        closes=None if stay.most is None else begun + timedelta(minutes=stay.most),
        cls=stay.window if stay.most is not None else None,
        opening_cls=stay.window if stay.least else None,
        opened_by=task.id,
        closed_by=task.id if stay.most is not None else None,
    )


def bounds(state: State, task: PlannedTask, live: Mapping[TaskId, Timed] | None = None) -> Bounds:
    """The window of a task.

    Args:
        state: what has happened; its plan must hold the task.
        task: the task asked about.
        live: where tasks are expected by now, if known (see `projection.project`); without it the
            plan's times stand for what has not happened yet.

    Returns:
        For a stay in hand, the window of its end; for work in hand, its shortest and longest end, and
        no bounds where a target temperature decides; otherwise the window of the task's start, which
        stays as it was judged when the task has started.
    """
    if state.plan is None:
        return Bounds()
    if status_of(state, task) is TaskStatus.IN_HAND:
        return _in_hand(state, task)
    return start_bounds(state, task, live)


def start_bounds(state: State, task: PlannedTask, live: Mapping[TaskId, Timed] | None = None) -> Bounds:
    """The window of a task's start, also of one that has already started."""
    if state.plan is None:
        return Bounds()
    opening: _Side | None = None
    closing: _Side | None = None
    for tie in tied(state.plan)[task.id].ties:
        opens, closes = _sides(state, tie, live)
        if opening is None or opens.at > opening.at:
            opening = opens
        if closes is not None and (closing is None or closes.at < closing.at):
            closing = closes
    for side in _lives(state, task, live):
        if closing is None or side.at < closing.at:
            closing = side
    return Bounds(
        opens=opening.at if opening else None,
        closes=closing.at if closing else None,
        cls=closing.cls if closing else None,
        opening_cls=opening.cls if opening else None,
        opened_by=opening.by if opening else None,
        closed_by=closing.by if closing else None,
        firm=closing.firm if closing else True,
    )
