"""The life of a task as a table, and the drawing made from it."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from orchestrator.core.state import TaskStatus


class TaskAct(StrEnum):
    """What may be done to a task."""

    START = "start"
    FINISH = "finish"
    FINISH_TRAY = "finish a tray"
    EXTEND = "needs longer"
    REPORT = "report a problem"
    MEASURE = "enter a temperature"
    SKIP = "skip"


_WAITING, _IN_HAND, _DONE, _SKIPPED = TaskStatus

LIFE: Final[Mapping[TaskStatus, Mapping[TaskAct, TaskStatus]]] = {
    _WAITING: {
        TaskAct.START: _IN_HAND,
        TaskAct.SKIP: _SKIPPED,
        TaskAct.REPORT: _WAITING,
        # A gate is judged before the start: somebody may measure for it.
        TaskAct.MEASURE: _WAITING,
    },
    _IN_HAND: {
        TaskAct.FINISH: _DONE,
        TaskAct.FINISH_TRAY: _IN_HAND,
        TaskAct.EXTEND: _IN_HAND,
        TaskAct.REPORT: _IN_HAND,
        TaskAct.MEASURE: _IN_HAND,
    },
    # A fault of the food may be noticed after the step that made it.
    _DONE: {TaskAct.REPORT: _DONE},
    _SKIPPED: {},
}
"""Status and act, and the status that they lead to. What is not here is refused; undo is not an act of
its own but brings back what was before."""


def after(status: TaskStatus, act: TaskAct) -> TaskStatus | None:
    """The status that an act leads to; none when the act is not allowed."""
    return LIFE[status].get(act)


def allowed(status: TaskStatus) -> tuple[TaskAct, ...]:
    """What may be done to a task of that status."""
    return tuple(LIFE[status])


def drawing() -> str:
    """The table as a Mermaid state diagram."""
    name = {status: status.value.replace(" ", "_") for status in TaskStatus}
    lines = ["stateDiagram-v2", f"    [*] --> {name[_WAITING]}"]
    for status, acts in LIFE.items():
        for act, next_status in acts.items():
            lines.append(f"    {name[status]} --> {name[next_status]}: {act.value}")
    lines += [f"    {name[status]} --> [*]" for status in (_DONE, _SKIPPED)]
    return "\n".join(lines) + "\n"
