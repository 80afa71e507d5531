"""Whether what must follow at once will find its machine free: what follows the step itself, or something in hand."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Final

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Equipment, Plan, PlannedTask, TaskKind, WindowClass
from orchestrator.core.pace import usual_length
from orchestrator.core.plan_index import Same, kitchen_index
from orchestrator.core.planning import back_at, expected_end
from orchestrator.core.progress import progress_of
from orchestrator.core.state import LotStatus, State, TaskStatus
from orchestrator.core.ties import tied
from orchestrator.core.windows import start_bounds

_ENOUGH: Final = 20
"""Shifts of the start that are tried: each passes one thing that is in the way."""


@dataclass(frozen=True, slots=True)
class Shut:
    """A step that must follow in time and would find no machine, were another started now."""

    task: PlannedTask
    """The one that follows."""
    machine: EquipmentId
    """Of the machines that could take it, the first to be free."""
    free_at: datetime
    needed_by: datetime
    cls: WindowClass
    start_from: datetime
    """The soonest start after which all that follows fits in time."""
    in_the_way: bool = False
    """Whether it follows something in hand, and the start itself would take its machine."""


@dataclass(frozen=True, slots=True)
class _Follower:
    """A task that must follow another within a limit of its end."""

    task: PlannedTask
    least: timedelta
    most: timedelta
    cls: WindowClass


@dataclass(frozen=True, slots=True)
class _Promised:
    """Work that follows something in hand: it begins between two instants on a machine."""

    follower: _Follower
    first: datetime
    last: datetime
    length: timedelta


def shut(state: State, task: PlannedTask, now: datetime) -> Shut | None:
    """The first step that would miss its limit for want of a machine, were a task started now.

    It follows the task itself, or something in hand whose machine the task would take; the latter only where the task
    can wait until its own window closes. Counted are what is in hand, what must follow that within limits of its own,
    and machines that are stopped; not what merely is planned, since a plan can be changed. Shared places are left out:
    what is in them can often leave.

    Args:
        state: What has happened, with a kitchen and a plan.
        task: A task of the plan that waits.
        now: When it would be started.

    Returns:
        None if all fits.
    """
    if state.plan is None or state.kitchen is None or task.kind is not TaskKind.WORK:
        return None
    rooms = _Rooms(state, now)
    taken = rooms.takes(task, now)
    if taken is not None or task.id not in rooms.after:
        return taken
    first, late = rooms.late(task, now)
    if first is None:
        return None
    start = now
    for _ in range(_ENOUGH):
        start += late
        other, late = rooms.late(task, start)
        if other is None:
            break
    follower, machine, free_at, needed_by = first
    return Shut(follower.task, machine, free_at, needed_by, follower.cls, start)


@lru_cache(maxsize=8)
def _followers(same: Same[Plan]) -> Mapping[TaskId, tuple[_Follower, ...]]:
    """By task: what must follow it within a limit, also through a stay that it begins."""
    found: dict[TaskId, list[_Follower]] = {}
    for one in tied(same.thing).values():
        if one.task.kind is not TaskKind.WORK:
            continue
        for tie in one.ties:
            before = tied(same.thing)[tie.before.id].filler if tie.joins else tie.before.id
            if before is not None and tie.most is not None and tie.cls is not WindowClass.PREFERENCE:
                found.setdefault(before, []).append(_Follower(one.task, tie.wait, tie.most, tie.cls))
    return {before: tuple(after) for before, after in found.items()}


_Late = tuple[_Follower, EquipmentId, datetime, datetime]


class _Rooms:
    """When machines that take one thing at a time are free, by what runs now."""

    def __init__(self, state: State, now: datetime) -> None:
        assert state.plan is not None
        assert state.kitchen is not None
        self.state = state
        self.now = now
        self.kitchen = kitchen_index(state.kitchen)
        self.after = _followers(Same(state.plan))
        self.statuses = progress_of(state).statuses
        self.free: dict[EquipmentId, datetime] = {}
        for machine, stop in state.machines.items():
            if stop.until is None or stop.until > now:
                self.free[machine] = back_at(stop, now)
        self.promised: dict[EquipmentId, list[_Promised]] = {}
        running = [t for t in progress_of(state).in_hand if t.kind is not TaskKind.STAY]
        for task in running:
            where = state.record(task.id).equipment or task.equipment
            if where is not None:
                self.free[where] = max(self.free.get(where, now), expected_end(state, task, now))
        for task in running:
            self._promise(task, expected_end(state, task, now), timedelta(0))

    def late(self, task: PlannedTask, start: datetime) -> tuple[_Late | None, timedelta]:
        """What follows too late if a task starts then, and by how much; none if everything is in time."""
        return self._late(task, start + usual_length(self.state, task))

    def takes(self, task: PlannedTask, start: datetime) -> Shut | None:
        """What follows something in hand and would find its machine taken by this task; none if it can go elsewhere."""
        machine = self.kitchen.equipment.get(task.equipment) if task.equipment is not None else None
        if machine is None:
            return None
        end = start + usual_length(self.state, task)
        closes = start_bounds(self.state, task).closes
        for promised in self.promised.get(machine.id, ()):
            follower, over = promised.follower, promised.first + promised.length
            if follower.task.id == task.id or end <= promised.last or self._elsewhere(promised, machine.id):
                continue
            if closes is None or over <= closes:
                return Shut(follower.task, machine.id, end, promised.last, follower.cls, over, in_the_way=True)
        return None

    def _elsewhere(self, promised: _Promised, taken: EquipmentId) -> bool:
        """Whether another machine takes what follows in time."""
        task = promised.follower.task
        others = (m for m in self.kitchen.equipment.values() if m.id != taken and _could(m, task))
        return any(self._free_at(m, promised.first, promised.length) <= promised.last for m in others)

    def _late(self, task: PlannedTask, end: datetime) -> tuple[_Late | None, timedelta]:
        for follower in self._waiting(task):
            found = self._place(follower.task, end + follower.least)
            if found is None:
                continue
            machine, begins = found
            limit = end + follower.most
            if begins > limit:
                return (follower, machine, begins, limit), begins - limit
            late, by = self._late(follower.task, begins + usual_length(self.state, follower.task))
            if late is not None:
                return late, by
        return None, timedelta(0)

    def _waiting(self, task: PlannedTask) -> Iterator[_Follower]:
        for follower in self.after.get(task.id, ()):
            lot = self.state.lots.get(follower.task.lot) if follower.task.lot is not None else None
            gone = lot is not None and lot.status in {LotStatus.DISCARDED, LotStatus.REWORK}
            if self.statuses.get(follower.task.id) is TaskStatus.WAITING and not gone:
                yield follower

    def _promise(self, task: PlannedTask, end: datetime, loose: timedelta) -> None:
        """What follows something in hand keeps room on its planned machine, with the slack that its limit leaves it."""
        for follower in self._waiting(task):
            one, length = follower.task, usual_length(self.state, follower.task)
            machine = self.kitchen.equipment.get(one.equipment) if one.equipment is not None else None
            first = end + follower.least
            slack = loose + follower.most - follower.least
            if machine is not None and not machine.shared:
                first = max(first, self.free.get(machine.id, first))
                last = max(first, end + loose + follower.most)
                self.promised.setdefault(machine.id, []).append(_Promised(follower, first, last, length))
            self._promise(one, first + length, slack)

    def _place(self, task: PlannedTask, first: datetime) -> tuple[EquipmentId, datetime] | None:
        """The machine that can take a task soonest, and when; none where it needs none, or a shared place."""
        planned = self.kitchen.equipment.get(task.equipment) if task.equipment is not None else None
        if planned is None or planned.shared:
            return None
        like = [m for m in self.kitchen.equipment.values() if m.id == planned.id or _could(m, task)]
        starts = [(self._free_at(m, first, usual_length(self.state, task)), m.id != planned.id, m.id) for m in like]
        begins, _, machine = min(starts)
        return machine, begins

    def _free_at(self, machine: Equipment, first: datetime, length: timedelta) -> datetime:
        """The first start from which a machine is free for so long, before or after what is promised there."""
        first = max(first, self.free.get(machine.id, first))
        promised = self.promised.get(machine.id, [])
        tries = sorted({first, *(end for p in promised if (end := p.first + p.length) > first)})
        fits = (t for t in tries if all(t + length <= p.last or t >= p.first + p.length for p in promised))
        return next(fits, tries[-1])


def _could(machine: Equipment, task: PlannedTask) -> bool:
    """Whether a machine of the kind takes the load."""
    if machine.kind != task.equipment_kind or machine.shared:
        return False
    least = machine.least.value if machine.least is not None else 0.0
    return machine.capacity is None or least <= task.load <= machine.capacity.value
