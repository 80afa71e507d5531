"""What one plan changes for people against another, task by task, each with its reason."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.models import Kitchen, Move, Plan, PlannedTask, PlanRequest, TaskKind
from orchestrator.core.move_reasons import Reasons
from orchestrator.core.plan_index import plan_index

_MINUTE: Final = timedelta(minutes=1)


def moves_between(
    before: Plan, after: Plan, request: PlanRequest, kitchen_before: Kitchen | None = None
) -> tuple[Move, ...]:
    """What a plan changes for people, with reasons, in order of time.

    Args:
        before: The plan that people know.
        after: The plan that would follow it.
        request: Present facts; what has begun is no move.
        kitchen_before: What the plan before was made for, where that differs from the request's.

    Returns:
        Every task that is new, gone, elsewhere in time, on another machine or with other people; no reason is empty.
    """
    begun = {actual.task for actual in request.actuals}
    found = differences(before, after, lambda task: task not in begun)
    reasons = Reasons(before, after, request, kitchen_before or request.kitchen, found)
    return tuple(move.model_copy(update={"reason": reasons.of(move)}) for move in found)


def differences(before: Plan, after: Plan, waits: Callable[[TaskId], bool]) -> tuple[Move, ...]:
    """The same without reasons.

    Args:
        before: The plan that people know.
        after: The plan that would follow it.
        waits: Whether a task has not begun.
    """
    known, new = plan_index(before).tasks, plan_index(after).tasks
    made = (_move(known.get(task), new.get(task)) for task in {**known, **new} if waits(task))
    return tuple(sorted((move for move in made if move is not None), key=lambda move: (first(move), move.task)))


def first(move: Move) -> datetime:
    """The earlier of the two instants of a move."""
    return min(instant for instant in (move.before, move.after) if instant is not None)


def people(task: PlannedTask) -> tuple[frozenset[CrewId], ...]:
    """Who attends, span by span in order of time."""
    return tuple(frozenset(span.crew) for span in sorted(task.spans, key=lambda span: span.start))


def _move(before: PlannedTask | None, after: PlannedTask | None) -> Move | None:
    if before is None or after is None:
        task = before or after
        if task is None or task.kind is TaskKind.STAY:
            return None  # shares of a store follow the work around them
        new = before is None
        start, gone_from = (after.start if after else None), (before.start if before else None)
        return Move(task=task.id, title=task.title, before=gone_from, after=start, what="new" if new else "gone")
    return _difference(before, after)


def _difference(before: PlannedTask, after: PlannedTask) -> Move | None:
    shift = after.start - before.start
    told = {"task": after.id, "title": after.title, "before": before.start, "after": after.start}
    if after.kind is TaskKind.STAY:
        other_place = before.equipment != after.equipment
        return Move.model_validate({**told, "what": "other equipment"}) if other_place else None
    if abs(shift) >= _MINUTE:
        return Move.model_validate({**told, "what": "later" if shift > timedelta(0) else "earlier"})
    if before.equipment != after.equipment:
        return Move.model_validate({**told, "what": "other equipment"})
    return Move.model_validate({**told, "what": "other people"}) if people(before) != people(after) else None
