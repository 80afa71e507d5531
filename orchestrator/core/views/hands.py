"""Hands needed and hands present, over the days."""

from collections import Counter
from datetime import datetime, timedelta

from orchestrator.core.alarms import Look
from orchestrator.core.models import PlannedTask
from orchestrator.core.plan_index import working
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.board_models import HandsPoint


def hands_profile(look: Look, start: datetime, end: datetime) -> tuple[HandsPoint, ...]:
    """From each instant on, how many hands the live plan needs and how many are there to work."""
    needed: Counter[datetime] = Counter()
    present: Counter[datetime] = Counter()
    for task in look.plan.tasks.values():
        for begins, ends, hands in _needs(look, task):
            _add(needed, max(begins, start), min(ends, end), hands)
    for member in look.kitchen.crew.values():
        if member.skills:
            for begins, ends in working(member):
                _add(present, max(begins, start), min(ends, end), 1)
    return tuple(_points(start, needed, present))


def _needs(look: Look, task: PlannedTask) -> list[tuple[datetime, datetime, int]]:
    """The planned spans, moved with the task; what is done or in hand throughout, as it was."""
    live, status = look.live[task.id], look.status(task)
    if status is TaskStatus.SKIPPED or look.gone(task.lot):
        return []
    if any(part.when == "throughout" for part in task.attended):
        return [(live.start, live.end, task.hands)]
    moved: timedelta = live.start - task.start
    return [(span.start + moved, span.end + moved, max(1, len(span.crew))) for span in task.spans]


def _add(changes: Counter[datetime], begins: datetime, ends: datetime, hands: int) -> None:
    if begins < ends:
        changes[begins] += hands
        changes[ends] -= hands


def _points(start: datetime, needed: Counter[datetime], present: Counter[datetime]) -> list[HandsPoint]:
    points = [HandsPoint(at=start, needed=0, present=0)]
    for at in sorted({*needed, *present}):
        last = points[-1]
        point = HandsPoint(at=at, needed=last.needed + needed[at], present=last.present + present[at])
        if at == last.at:
            points[-1] = point
        elif (point.needed, point.present) != (last.needed, last.present):
            points.append(point)
    return points
