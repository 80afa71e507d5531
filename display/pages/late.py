"""Late entry: what was written on paper while nothing could be tapped, with the time at which it was done."""

from datetime import timedelta

from flask import Blueprint

from display.request import page, showing
from orchestrator.core.models import TaskKind
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.day import day_tasks

pages = Blueprint("late", __name__)

SHOWN = 12
"""Tasks at once, the oldest first: what follows one cannot be entered before it."""


@pages.get("/papers/late")
def late_page() -> str:
    """Tasks that the plan has begun or ended by now, and the record has not."""
    picture = showing()
    snapshot, now = picture.snapshot, picture.now
    today = picture.formats.local(now).date()
    found = {}
    for back in range(7, -1, -1):
        for task, view in day_tasks(snapshot.state, snapshot.facts, now, today - timedelta(days=back)):
            found[task.id] = (task, view)
    # By the plan, not by the live plan: that moves on with the clock, and nothing would ever be due.
    due = [
        (task, view)
        for task, view in found.values()
        if (view.status == TaskStatus.WAITING and task.start <= now)
        or (view.status == TaskStatus.IN_HAND and task.kind is not TaskKind.STAY)
    ]
    due.sort(key=lambda pair: (pair[0].start, pair[0].id))
    return page("late.html", due=due[:SHOWN], more=len(due) - len(due[:SHOWN]))
