"""Tasks that somebody holds in place, and when facts make that impossible."""

from collections.abc import Iterable, Mapping, Set
from datetime import datetime, timedelta

from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import Actual, Plan, PlannedTask, Stop, TaskKind
from orchestrator.core.plan_index import plan_index


def still_held(
    plan: Plan, now: datetime, actuals: Iterable[Actual], stops: Iterable[Stop], shut: Iterable[LotCode]
) -> Plan:
    """The plan, with those holds let go that facts have overtaken: a plan that must keep them could not be made.

    Args:
        plan: The adopted plan.
        now: The present instant.
        actuals: What has happened.
        stops: Machines that cannot be used.
        shut: Lots on hold or lost.

    Returns:
        The same plan where nothing had to be let go. A hold goes when its instant has passed, its machine is stopped
        then, its lot may not be used, or what it follows cannot have ended by then.
    """
    held = [task for task in plan.tasks if task.held_in_place]
    if not held:
        return plan
    known = {actual.task: actual for actual in actuals}
    soonest = _soonest(plan, now, known)
    closed, stopped = frozenset(shut), tuple(stops)
    gone = {
        task.id
        for task in held
        if task.id in known
        or task.start < max(now, soonest[task.id])
        or task.lot in closed
        or any(s.equipment == task.equipment and s.start < task.end and task.start < s.end for s in stopped)
    }
    if not gone:
        return plan
    return held_only(plan, {task.id for task in held} - gone)


def held_as_before(plan: Plan, before: Plan | None) -> Plan:
    """A plan newly adopted, with what people held in place in the one before, as far as it is still there.

    Args:
        plan: The new plan: it was made before, and what was held or let go since is not in it.
        before: The plan before; none for a first plan.
    """
    known = plan_index(before).tasks if before is not None else {}
    held = {t.id for t in plan.tasks if (old := known.get(t.id)) and old.held_in_place and _same_place(t, old)}
    return plan if held == {t.id for t in plan.tasks if t.held_in_place} else held_only(plan, held)


def with_hold(plan: Plan, task: TaskId, *, held: bool) -> Plan:
    """The plan with one task held in place, or let go."""
    now_held = {known.id for known in plan.tasks if known.held_in_place} - {task}
    return held_only(plan, now_held | {task} if held else now_held)


def _same_place(task: PlannedTask, old: PlannedTask) -> bool:
    return (task.start, task.equipment) == (old.start, old.equipment)


def held_only(plan: Plan, held: Set[TaskId]) -> Plan:
    """The plan with these tasks held in place and no others."""
    tasks = tuple(
        task if task.held_in_place is (task.id in held) else task.model_copy(update={"held_in_place": task.id in held})
        for task in plan.tasks
    )
    return plan.model_copy(update={"tasks": tasks})


def _soonest(plan: Plan, now: datetime, actuals: Mapping[TaskId, Actual]) -> dict[TaskId, datetime]:
    """The earliest start of each task by what it follows alone, machines and people apart."""
    index = plan_index(plan)
    starts: dict[TaskId, datetime] = {}
    ends: dict[TaskId, datetime] = {}
    for task_id in index.order:
        task, actual = index.tasks[task_id], actuals.get(task_id)
        if actual is not None:
            starts[task_id] = actual.start
            ends[task_id] = actual.start if task.kind is TaskKind.STAY else actual.end
        else:
            after = [ends[k.after] + timedelta(minutes=k.least) for k in task.links if k.after in ends]
            starts[task_id] = max([now, *after])
            ends[task_id] = starts[task_id]
        if task.kind is TaskKind.STAY:
            ends[task_id] += timedelta(minutes=task.stay.least if task.stay is not None else 0)
        elif actual is None:
            ends[task_id] += task.end - task.start
    return starts
