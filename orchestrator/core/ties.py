"""What a plan fixes about each task, ready to be reckoned with: links as time, hands as portions.

Built once for each plan: projections ask for it at every command, many times.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from typing import Final

from orchestrator.core.ids import TaskId
from orchestrator.core.models import Plan, PlannedTask, TaskKind, TaskLink, WindowClass
from orchestrator.core.plan_index import PlanIndex, Same, plan_index

_NONE: Final = timedelta(0)


@dataclass(frozen=True, slots=True)
class Tie:
    """What one link says about the start of the task after it."""

    before: PlannedTask
    joins: bool
    """True: the start ends a stay, and is counted from the stay's start by the stay's own window; False: it is
    counted from the end of the task before."""
    least: timedelta
    most: timedelta | None
    cls: WindowClass
    wait: timedelta
    """``least``, or what is left of it where the plan itself, openly, puts the start sooner."""


@dataclass(frozen=True, slots=True)
class Tied:
    """A task of a plan with what it waits for."""

    task: PlannedTask
    ties: tuple[Tie, ...]
    dangling: bool
    """Whether it also follows something that the plan no longer has."""
    length: timedelta
    portions: tuple[tuple[timedelta, timedelta], ...]
    """Offset and length of each part that needs hands."""
    filler: TaskId | None
    """Of a stay: the task whose end begins it; none for stock."""
    takers: tuple[TaskId, ...]
    """Of a stay: the tasks whose start ends it."""


def tied(plan: Plan) -> Mapping[TaskId, Tied]:
    """Every task of a plan with its ties; the same plan gets the same answer."""
    return _tied(Same(plan))


@lru_cache(maxsize=8)
def _tied(same: Same[Plan]) -> Mapping[TaskId, Tied]:
    index = plan_index(same.thing)
    return {task.id: _of(index, task) for task in same.thing.tasks}


def _of(index: PlanIndex, task: PlannedTask) -> Tied:
    stay = task.kind is TaskKind.STAY
    filler = index.filler(task) if stay else None
    length = task.end - task.start
    return Tied(
        task=task,
        ties=tuple(_tie(index, task, link) for link in task.links if link.after in index.tasks),
        dangling=any(link.after not in index.tasks for link in task.links),
        length=length,
        portions=_portions(task, length),
        filler=filler.id if filler else None,
        takers=tuple(t.id for t in index.takers(task.id)) if stay else (),
    )


def _tie(index: PlanIndex, task: PlannedTask, link: TaskLink) -> Tie:
    before = index.tasks[link.after]
    if before.kind is TaskKind.STAY and before.stay is not None and link.most == 0:
        pairs = [{task.id, before.id}, {before.id}, *({before.id, fill.after} for fill in before.links)]
        least, most, cls = before.stay.least, before.stay.most, before.stay.window
        joins = True
    else:
        pairs = [{task.id, before.id}]
        least, most, cls = link.least, link.most, link.window
        joins = False
    return Tie(
        before=before,
        joins=joins,
        least=timedelta(minutes=least),
        most=None if most is None else timedelta(minutes=most),
        cls=cls,
        wait=timedelta(minutes=least) - max(index.early.get(frozenset(pair), _NONE) for pair in pairs),
    )


def _portions(task: PlannedTask, length: timedelta) -> tuple[tuple[timedelta, timedelta], ...]:
    found = []
    for part in task.attended:
        minutes = timedelta(minutes=part.minutes or 0)
        if part.when == "throughout":
            found.append((_NONE, length))
        elif part.when == "start":
            found.append((_NONE, min(minutes, length)))
        else:
            found.append((max(_NONE, length - minutes), min(minutes, length)))
    return tuple(found)
