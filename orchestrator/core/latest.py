"""The latest start of a task that still keeps what depends on it: bounded by links, then tried by projection."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Final

from orchestrator.core.found import latest_start
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Kitchen, Plan, TaskKind
from orchestrator.core.plan_index import Same, kitchen_index, plan_index
from orchestrator.core.projection import Projected, Trials
from orchestrator.core.state import State

_STEPS: Final = 7
"""Halvings of the time in which a latest start is looked for."""


@lru_cache(maxsize=8)
def _bounds(plan_key: Same[Plan], kitchen_key: Same[Kitchen]) -> Mapping[TaskId, datetime]:
    plan = plan_index(plan_key.thing)
    orders = kitchen_index(kitchen_key.thing).orders
    ends: dict[TaskId, datetime] = {}
    starts: dict[TaskId, datetime] = {}
    for task_id in reversed(plan.order):
        task = plan.tasks[task_id]
        bounds = []
        if task.order is not None and task.order in orders:
            bounds.append(orders[task.order].due)
        for follower_id, link in plan.followers.get(task_id, ()):
            if follower_id in starts:
                bounds.append(starts[follower_id] - timedelta(minutes=link.least))
        if not bounds:
            continue
        ends[task_id] = min(bounds)
        length = task.end - task.start
        if task.kind is TaskKind.STAY:
            length = timedelta(minutes=task.stay.least if task.stay else 0)
        starts[task_id] = ends[task_id] - length
    return starts


def latest_starts(plan: Plan, kitchen: Kitchen) -> Mapping[TaskId, datetime]:
    """Latest starts for which every order still can be ready, by links and lengths alone.

    Machines, people and stores only make it earlier: an upper bound. Tasks that no order waits for
    are left out.
    """
    return _bounds(Same(plan), Same(kitchen))


def latest_that_keeps(
    state: State,
    now: datetime,
    task: TaskId,
    keeps: Callable[[Mapping[TaskId, Projected]], bool],
    until: datetime,
) -> datetime | None:
    """The latest start of a waiting task, no later than ``until``, after which all is still kept.

    Where the planner has found one for the present plan, and it is still ahead, that one: a plan that begins there
    passed the checker. Else found by projecting the plan with the task held back, by halving, to within a hundredth
    of the time left; always an instant that was tried.

    Args:
        state: what has happened.
        now: aware instant.
        task: a task that waits.
        keeps: judges a projection.
        until: where looking ends.

    Returns:
        The instant, or none when even starting as soon as it can be started does not keep it.
    """
    known = latest_start(state, task)
    if known is not None and known.at >= now:
        return min(known.at, until)
    trials = Trials(state, now, task)
    good, bad = trials.soonest(), until
    if good > until or not keeps(trials.started(now)):
        return None

    def kept(start: datetime) -> bool:
        live = trials.started(start)
        return live[task].start <= max(start, good) and keeps(live)

    if kept(until):
        return until
    for _ in range(_STEPS):
        middle = good + (bad - good) / 2
        good, bad = (middle, bad) if kept(middle) else (good, middle)
    return good
