"""A window as the screens draw it: its state at this moment, its marks, and where the live plan stands in it."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms import Look
from orchestrator.core.alarms.window_alarms import lead, slack, too_late
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.quantities import minutes_between
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.models import WindowState, WindowView
from orchestrator.core.windows import Bounds, bounds

_SOON: Final = timedelta(minutes=30)


def window_view(look: Look, task: PlannedTask) -> WindowView | None:
    """The next mark of a task: of its start while it waits, of its end while it is in hand; none when it is over."""
    status = look.status(task)
    if status not in {TaskStatus.WAITING, TaskStatus.IN_HAND}:
        return None
    window = bounds(look.state, task, look.live)
    live = look.live[task.id]
    planned = live.end if status is TaskStatus.IN_HAND else live.start
    if status is TaskStatus.IN_HAND and task.kind is TaskKind.STAY and not look.plan.takers(task.id):
        expected = None  # nobody takes it: where the plan ends it is only the horizon
    else:
        expected = planned
    state, late = _state(look, window, expected)
    return WindowView(
        state=state,
        opens=window.opens,
        planned=expected,
        closes=window.closes,
        late_min=late,
        lead_min=int(_lead(look, window).total_seconds() // 60),
        window=window.cls,
    )


def _lead(look: Look, window: Bounds) -> timedelta:
    return lead(window, look.kitchen.kitchen.warnings.window_lead)


def _state(look: Look, window: Bounds, expected: datetime | None) -> tuple[WindowState, int]:
    now = look.now
    if window.closes is not None:
        limit = window.closes + slack(window)
        if window.firm and now > limit:
            return WindowState.MISSED, minutes_between(window.closes, now)
        if expected is not None and too_late(window, expected):
            return WindowState.AT_RISK, minutes_between(window.closes, expected)
    if window.opens is not None and now < window.opens:
        return (WindowState.OPENING if window.opens - now <= _SOON else WindowState.SHUT), 0
    if window.closes is not None and window.firm and now >= window.closes - _lead(look, window):
        return WindowState.CLOSING, 0
    return WindowState.OPEN, 0
