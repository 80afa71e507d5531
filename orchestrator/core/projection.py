"""Where the plan stands by now: actual times, and what they push to the right. For warnings and views."""

from collections.abc import Mapping, Sequence
from copy import copy
from datetime import datetime, timedelta
from functools import lru_cache
from operator import attrgetter
from typing import Final, NamedTuple

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.pace import end_in_hand
from orchestrator.core.plan_index import KitchenIndex, kitchen_index, plan_index
from orchestrator.core.planning import back_at
from orchestrator.core.progress import actual_start, progress_of
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.supplies_now import supplies_now
from orchestrator.core.supply_cover import cover_now
from orchestrator.core.ties import Tied, tied

_TRIES: Final = 40


class Projected(NamedTuple):
    """When a task began and ended, or is expected to."""

    start: datetime
    end: datetime


class _Sweep:
    """One pass over the plan, each task after whatever it waits for."""

    def __init__(self, state: State, now: datetime) -> None:
        assert state.plan is not None
        assert state.kitchen is not None
        self.state = state
        self.now = now
        self.not_before: Mapping[TaskId, datetime] = {}
        self.tied = tied(state.plan)
        self.order = plan_index(state.plan).order
        progress = progress_of(state)
        self.statuses = progress.statuses
        self.kitchen: KitchenIndex = kitchen_index(state.kitchen)
        self.cover = cover_now(state, now)
        self.supplies = {supply.ingredient: supply for supply in supplies_now(state, now)}
        self.found: dict[TaskId, Projected] = {}
        self.free_at: dict[EquipmentId, datetime] = {}
        for task in progress.in_hand:
            # Whatever is in a machine now comes first, also when it was begun out of the plan's order.
            if task.kind is not TaskKind.STAY:
                self.found[task.id] = self._begun(task, TaskStatus.IN_HAND)
                self._occupy(task)

    def branch(self, not_before: Mapping[TaskId, datetime]) -> "_Sweep":
        """Another sweep that goes on from here."""
        other = copy(self)
        other.not_before = not_before
        other.found, other.free_at = dict(self.found), dict(self.free_at)
        return other

    def over(self, tasks: Sequence[TaskId]) -> None:
        """Place these; all that they wait for must have been placed."""
        for task_id in tasks:
            tied = self.tied[task_id]
            status = self.statuses[task_id]
            if status is TaskStatus.WAITING:
                self.found[task_id] = self._waiting(tied)
            else:
                self.found[task_id] = self._begun(tied.task, status)
            self._occupy(tied.task)

    def end(self) -> dict[TaskId, Projected]:
        """All were placed: let the stays end as what takes them starts."""
        for task_id in self.order:
            if self.tied[task_id].takers:
                self._end_stay(task_id, self.tied[task_id].takers)
        return self.found

    def _begun(self, task: PlannedTask, status: TaskStatus) -> Projected:
        record = self.state.record(task.id)
        start = actual_start(self.state, task) or task.start
        if status is not TaskStatus.IN_HAND:
            return Projected(start, record.finished_at or start)
        if task.kind is TaskKind.STAY:
            return Projected(start, max(task.end, self.now))
        return Projected(start, max(self.now, end_in_hand(self.state, task, start)))

    def _waiting(self, tied: Tied) -> Projected:
        task = tied.task
        if task.kind is TaskKind.STAY:
            start = self.found[tied.filler].end if tied.filler else max(task.start, self.now)
            return Projected(start, max(start, task.end))
        start = max(self.now, self.not_before.get(task.id, task.start))
        if tied.dangling:
            start = max(start, task.start)
        awaited = self.kitchen.awaits(task, self.cover.enough, self.supplies)
        if awaited is not None:
            start = max(start, awaited.ready)
        for tie in tied.ties:
            before = self.found[tie.before.id]
            start = max(start, (before.start if tie.joins else before.end) + tie.wait)
        if task.equipment is not None:
            start = max(start, self.free_at.get(task.equipment, start))
            if not task.cleans:
                start = self._past_stop(task, task.equipment, start)
        if start != task.start and task.attended and task.skill is not None:
            start = self._manned(tied, task.skill, start)
        return Projected(start, start + tied.length)

    def _past_stop(self, task: PlannedTask, equipment: EquipmentId, start: datetime) -> datetime:
        stop = self.state.machines.get(equipment)
        if stop is not None:
            start = max(start, back_at(stop, self.now))
        machine = self.kitchen.equipment.get(equipment)
        for planned in machine.maintenance if machine is not None and task.kind is TaskKind.WORK else ():
            if start < planned.end and planned.start < start + (task.end - task.start):
                start = planned.end
        return start

    def _manned(self, tied: Tied, skill: str, start: datetime) -> datetime:
        """The next start at which somebody with the skill is there for every attended portion."""
        hours = self.kitchen.hours.get(skill, ())
        moved = start
        for _ in range(_TRIES):
            wait = max((_wait(hours, moved + o, n) for o, n in tied.portions), default=_NO_WAIT)
            if wait is NEVER:
                return start
            if not wait:
                return moved
            moved += wait
        return start

    def _occupy(self, task: PlannedTask) -> None:
        if task.kind is TaskKind.STAY:
            return
        record = self.state.tasks.get(task.id)
        equipment = (record.equipment if record else None) or task.equipment
        machine = self.kitchen.equipment.get(equipment) if equipment else None
        if machine is None or machine.shared:
            return
        end = self.found[task.id].end
        self.free_at[machine.id] = max(end, self.free_at.get(machine.id, end))

    def _end_stay(self, stay: TaskId, takers: tuple[TaskId, ...]) -> None:
        """A stay lasts until the first task that takes it starts."""
        if self.statuses[stay] in {TaskStatus.WAITING, TaskStatus.IN_HAND}:
            start = self.found[stay].start
            self.found[stay] = Projected(start, max(start, min(self.found[t].start for t in takers)))


NEVER: Final = timedelta.max
_NO_WAIT: Final = timedelta(0)


def _wait(hours: tuple[tuple[datetime, datetime], ...], begins: datetime, length: timedelta) -> timedelta:
    """How long until somebody can give so much time in one piece; `NEVER` when nobody can."""
    ends = begins + length
    best = NEVER
    for start, end in hours:
        if start > begins:
            if start - begins >= best:
                break
            if start + length <= end:
                best = start - begins
        elif ends <= end:
            return _NO_WAIT
    return best


class Trials:
    """Projections like those of `project`, were one waiting task begun at another instant than planned.

    Whatever comes before the task is placed only once.
    """

    def __init__(self, state: State, now: datetime, task: TaskId) -> None:
        """``state`` has a kitchen and a plan that holds the task."""
        self._now = now
        self._task = task
        self._until_then = _Sweep(state, now)
        place = self._until_then.order.index(task)
        self._until_then.over(self._until_then.order[:place])
        self._rest = self._until_then.order[place:]

    def soonest(self) -> datetime:
        """When the task starts if it is begun as soon as it can be."""
        sweep = self._until_then.branch({self._task: self._now})
        sweep.over((self._task,))
        return sweep.found[self._task].start

    def started(self, not_before: datetime) -> Mapping[TaskId, Projected]:
        """What a start no sooner than this would do."""
        sweep = self._until_then.branch({self._task: not_before})
        sweep.over(self._rest)
        return sweep.end()


UNREAD: Final = frozenset({"seq", "seen", "acts", "alarms", "raised", "calls", "looked", "unseen"})
"""What a projection does not look at: states that differ in nothing else share one. A test holds it."""
_read = attrgetter(*(name for name in State.__slots__ if name not in UNREAD))


class _AtNow:
    """A state at an instant, as far as a projection looks at it, compared by the identity of its parts: a memo's key.

    One act is looked at before and after its alarms are on record, and once more for what is due next.
    """

    __slots__ = ("now", "parts", "state")

    def __init__(self, state: State, now: datetime) -> None:
        self.state = state
        self.now = now
        self.parts = tuple(map(id, _read(state)))

    def __hash__(self) -> int:
        return hash((self.parts, self.now))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _AtNow) and other.parts == self.parts and other.now == self.now


@lru_cache(maxsize=8)
def _project(at: _AtNow) -> Mapping[TaskId, Projected]:
    if at.state.plan is None or at.state.kitchen is None:
        return {}
    sweep = _Sweep(at.state, at.now)
    sweep.over(sweep.order)
    return sweep.end()


def project(state: State, now: datetime) -> Mapping[TaskId, Projected]:
    """Every task of the plan: its actual times, else the plan's moved right as far as they must be.

    A waiting task starts no sooner than planned, than now, than its ingredients are there, than its links and
    joined stays allow, than its machine is free (in the plan's order) and back from a stop; attended work that
    is moved goes to the next time at which somebody with the skill is on shift. Work in hand ends at its usual
    length and what was added, at the earliest now. Room in stores and people doing two things at once are not
    looked at: re-planning does that.

    Args:
        state: what has happened, with a plan and a kitchen.
        now: aware instant.

    Returns:
        By task; empty without a plan. Do not change it.
    """
    return _project(_AtNow(state, now))
