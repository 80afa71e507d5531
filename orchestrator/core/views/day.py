"""The tasks of one day of the kitchen's calendar."""

from datetime import date, datetime

from orchestrator.core.alarms import look
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import Facts, State
from orchestrator.core.views.models import TaskView
from orchestrator.core.views.task import build_task


def day_tasks(state: State, facts: Facts, now: datetime, day: date) -> tuple[tuple[PlannedTask, TaskView], ...]:
    """Work and clean-downs that are, or will be, on hand at some time of a day, by their start in the live plan.

    Lots that are gone are left out; without a plan there is nothing.
    """
    seen = look(state, facts, now)
    if seen is None:
        return ()
    found = []
    for task in seen.plan.tasks.values():
        live = seen.live[task.id]
        first, last = (seen.kitchen.kitchen.local(at).date() for at in (live.start, live.end))
        if task.kind is not TaskKind.STAY and not seen.gone(task.lot) and first <= day <= last:
            found.append((task, build_task(seen, task)))
    return tuple(sorted(found, key=lambda pair: (pair[1].planned_start, pair[0].id)))
