"""The planned days go on: when planning begins at a later day, and what leaves the plan then.

A plan keeps what has happened, because what is still to come hangs on it. What nothing hangs on any more leaves it, so
that a kitchen can work by one record for years: lots of which nothing is left, and orders that were handed over, each
with whatever only they took. It stays in the state, see `past`, and on record.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core import rota
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.ids import EquipmentId, LotCode, OrderId, TaskId
from orchestrator.core.material import accounts_here
from orchestrator.core.models import Equipment, Kitchen, Peg, PlannedTask, TaskKind
from orchestrator.core.models.kitchen import MOST_DAYS
from orchestrator.core.pantry import LEAST
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.state import LotStatus, State, TaskStatus

DAYS_BACK: Final = 2
"""So many days before today stay in the plan, whatever became of them: people still look at them. Ours."""
MOVES_AFTER: Final = timedelta(days=7)
"""So old the start of planning becomes before it moves."""
MOVES_BEFORE_END: Final = timedelta(days=1)
"""So long before the planned days end they go on."""
_LEAST_AHEAD: Final = 3
"""Days that are planned from today at the least: fewer would end again tomorrow."""
_OVER: Final = (TaskStatus.DONE, TaskStatus.SKIPPED)


def moves_at(kitchen: Kitchen) -> datetime:
    """When planning next begins at a later day."""
    return min(kitchen.planning_start + MOVES_AFTER, kitchen.planned_until - MOVES_BEFORE_END)


def moved(state: State, now: datetime, *, at_first: bool = False) -> DaysMoved | None:
    """How the days go on at an instant; none while they need not.

    Args:
        state: With a kitchen, else they never do.
        now: Aware instant.
        at_first: The kitchen is taken over only now, from files that are older: what they want for days that are over
            was no work of this record.
    """
    kitchen = state.kitchen
    if kitchen is None or now < moves_at(kitchen):
        return None
    start = _start(kitchen, now)
    if start <= kitchen.planning_start and now < kitchen.planned_until - MOVES_BEFORE_END:
        return None
    leavers = _Leavers(state, kitchen, start, at_first=at_first)
    ahead = max(_LEAST_AHEAD, (state.by_hand.imported or kitchen).horizon_days)
    last = max((order.due for order in kitchen.orders if order.id not in leavers.orders), default=start)
    days = min(MOST_DAYS, (now - start).days + ahead)
    later = kitchen.model_copy(update={"planning_start": start, "horizon_days": days}).reaching(last)
    return DaysMoved(
        at=now,
        planning_start=start,
        horizon_days=later.horizon_days,
        lots=tuple(sorted(leavers.lots)),
        orders=tuple(sorted(leavers.orders)),
        tasks=tuple(sorted(leavers.tasks())),
        shifts=rota.gained(kitchen, start),
    )


def _start(kitchen: Kitchen, now: datetime) -> datetime:
    """The day `DAYS_BACK` days ago, at the hour at which the kitchen's first day began; never sooner than it is."""
    first, today = kitchen.local(kitchen.first_start), kitchen.local(now)
    day = today.date() - timedelta(days=DAYS_BACK)
    start = datetime.combine(day, first.timetz()).astimezone(kitchen.planning_start.tzinfo)
    return max(start, kitchen.planning_start)


class _Leavers:
    """Lots and orders that leave a plan whose days begin at ``start``."""

    def __init__(self, state: State, kitchen: Kitchen, start: datetime, *, at_first: bool = False) -> None:
        self._state, self._start, self._at_first = state, start, at_first
        self._wanted = kitchen.orders
        batches, self._pegs = (state.plan.batches, state.plan.pegs) if state.plan is not None else ((), ())
        self._known = frozenset((*(stock.lot for stock in kitchen.stock), *(batch.lot for batch in batches)))
        self._tasks = plan_index(state.plan).tasks if state.plan is not None else {}
        self._on = _begun_on(state, self._tasks.values())
        self._last_runs = frozenset(_last_runs(kitchen, self._on))
        self.orders = frozenset(self._orders())
        self.lots = frozenset(self._lots())

    def tasks(self) -> frozenset[TaskId]:
        """All tasks of theirs, what waited for them in lots that stay, and what belongs to nothing any more."""
        gone = {str(name) for name in (*self.lots, *self.orders)}
        found = set[TaskId]()
        for task in self._tasks.values():
            mine = task.lot in self.lots or task.order in self.orders
            waited = task.kind is TaskKind.STAY and task.id.rsplit(".", 1)[-1] in gone
            if (mine or waited or self._nobodys(task)) and task.id not in self._last_runs:
                found.add(task.id)
        return frozenset(found.difference(self._still_tell(found)))

    def _nobodys(self, task: PlannedTask) -> bool:
        """Long over, of a lot that is no more, or of a machine alone, as what it is cleaned by for the night."""
        owned = task.lot in self._known if task.lot is not None else task.order is not None
        return not owned and self._long_over(task)

    def _still_tell(self, leave: set[TaskId]) -> Iterator[TaskId]:
        """Upkeep after a run that stays: without it the machine would seem to be in use ever since that run."""
        for begun in self._on.values():
            runs = (at for at, task in begun if task.kind is TaskKind.WORK and task.id not in leave)
            first = min(runs, default=None)
            if first is not None:
                yield from (task.id for at, task in begun if task.kind is TaskKind.CLEAN and at >= first)

    def _orders(self) -> Iterator[OrderId]:
        """Handed over, all of it, before the days begin."""
        for order in self._wanted:
            if order.due >= self._start:
                continue
            mine = [t for t in self._tasks.values() if t.order == order.id and t.kind is not TaskKind.CLEAN]
            over = bool(mine) and all(self._long_over(task) for task in mine)
            if self._at_first or (over and not self._runs_last(mine)):
                yield order.id

    def _lots(self) -> set[LotCode]:
        """Of which nothing is left, with whatever took of them: as long as any of that stays, they stay."""
        found = {lot for lot in self._known if self._used_up(lot)}
        while True:
            stays = {peg.lot for peg in self._pegs if peg.lot in found and self._stays(peg, found)}
            if not stays:
                return found
            found -= stays

    def _stays(self, peg: Peg, leave: set[LotCode]) -> bool:
        """Whether who takes of a lot is in the plan still."""
        if peg.batch is not None:
            return peg.batch in self._known and peg.batch not in leave
        return any(order.id == peg.order for order in self._wanted) and peg.order not in self.orders

    def _used_up(self, lot: LotCode) -> bool:
        record, account = self._state.lots.get(lot), accounts_here(self._state).get(lot)
        if record is not None and record.status is LotStatus.ON_HOLD:
            return False
        if any(deviation.open and lot in deviation.lots for deviation in self._state.deviations.values()):
            return False
        mine = [t for t in self._tasks.values() if t.lot == lot and t.kind is not TaskKind.CLEAN]
        work = [task for task in mine if task.kind is TaskKind.WORK]
        thrown_away = record is not None and record.status in (LotStatus.DISCARDED, LotStatus.REWORK)
        over = thrown_away or all(self._over(task) for task in work)
        empty = thrown_away or (account is not None and account.how != "not begun" and account.left <= LEAST)
        since = record.since if thrown_away and record is not None else self._start - timedelta(seconds=1)
        return over and empty and since < self._start and self._quiet(mine) and not self._runs_last(mine)

    def _quiet(self, tasks: list[PlannedTask]) -> bool:
        """Nothing of them has happened since the days begin; a place in which nothing is left is no happening."""
        records = [(task, self._state.record(task.id)) for task in tasks]
        ends = [r.finished_at or r.started_at for t, r in records if t.kind is TaskKind.WORK or r.finished_at]
        return all(ended is None or ended < self._start for ended in ends)

    def _runs_last(self, tasks: list[PlannedTask]) -> bool:
        return any(task.id in self._last_runs for task in tasks)

    def _over(self, task: PlannedTask) -> bool:
        return self._state.record(task.id).status in _OVER

    def _long_over(self, task: PlannedTask) -> bool:
        record = self._state.record(task.id)
        ended = record.finished_at or record.started_at
        return record.status in _OVER and (ended is None or ended < self._start)


def _begun_on(state: State, tasks: Iterable[PlannedTask]) -> dict[EquipmentId, list[tuple[datetime, PlannedTask]]]:
    """What has begun on each machine, and when."""
    on: dict[EquipmentId, list[tuple[datetime, PlannedTask]]] = defaultdict(list)
    for task in tasks:
        record = state.record(task.id)
        place = record.equipment or task.equipment
        if place is not None and record.started_at is not None and task.kind is not TaskKind.STAY:
            on[place].append((record.started_at, task))
    return on


def _last_runs(kitchen: Kitchen, on: Mapping[EquipmentId, Sequence[tuple[datetime, PlannedTask]]]) -> Iterator[TaskId]:
    """The last run of each machine that is cleaned or pre-cooled, and what was done to it since.

    What the next run asks for hangs on them.
    """
    for place, happened in on.items():
        machine = kitchen_index(kitchen).equipment.get(place)
        runs = [at for at, task in happened if task.kind is TaskKind.WORK]
        if machine is not None and _kept(machine):
            last = max(runs, default=datetime.min.replace(tzinfo=happened[0][0].tzinfo))
            yield from (task.id for at, task in happened if at >= last)


def _kept(machine: Equipment) -> bool:
    return bool(machine.cleaning or machine.precool or machine.day_end)
