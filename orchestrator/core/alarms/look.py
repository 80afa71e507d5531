"""What every derivation of alarms looks at: the state, the facts, the instant, and where the plan stands."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from orchestrator.core.ids import AlarmId, EquipmentId, LotCode, OrderId, RecipeId, StationId, TaskId
from orchestrator.core.left_overs_in import left_overs_in
from orchestrator.core.lives import Clocks
from orchestrator.core.models import Equipment, Kitchen, Plan, PlannedTask, TaskKind
from orchestrator.core.models.alarm import AlarmKind, AlarmStatus
from orchestrator.core.plan_index import KitchenIndex, PlanIndex, kitchen_index, plan_index
from orchestrator.core.progress import Progress, progress_of
from orchestrator.core.projection import Projected, project
from orchestrator.core.state import Facts, LotStatus, State, TaskStatus


@dataclass(frozen=True, slots=True)
class Look:
    """One state at one instant, with its indexes and its projection."""

    state: State
    facts: Facts
    now: datetime
    kitchen: KitchenIndex
    plan: PlanIndex
    live: Mapping[TaskId, Projected]
    progress: Progress
    advise: bool = True
    """False: only what is wrong is asked, not until when it could still be saved, which takes longer to find."""

    def clocks(self) -> Clocks:
        """Shelf lives, by what is over and where the rest stands by now."""
        live = self.live
        return Clocks(
            self.plan.plan,
            self.kitchen.kitchen,
            lambda task: live[task].end if task in live else None,
            lambda task: live[task].start if task in live else None,
            left_overs_in(self.state),
        )

    def status(self, task: PlannedTask) -> TaskStatus:
        """Where a task is in its life."""
        return self.progress.statuses[task.id]

    def waiting_work(self) -> tuple[PlannedTask, ...]:
        """Work and clean-downs that have not begun, but for lots that are gone."""
        return self.progress.waiting_work

    def begun_work(self) -> tuple[PlannedTask, ...]:
        """Work and clean-downs that are in hand or over, but for lots that are gone."""
        return self.progress.begun_work

    def in_hand(self) -> tuple[PlannedTask, ...]:
        """What is in hand, stays included."""
        return self.progress.in_hand

    def gone(self, lot: LotCode | None) -> bool:
        """Whether a lot was discarded or is to be reworked: its tasks will not happen."""
        record = self.state.lots.get(lot) if lot is not None else None
        return record is not None and record.status in {LotStatus.DISCARDED, LotStatus.REWORK}

    def on_hold(self, lot: LotCode | None) -> bool:
        """Whether a lot waits for a decision."""
        record = self.state.lots.get(lot) if lot is not None else None
        return record is not None and record.status is LotStatus.ON_HOLD

    def decided_since(self, lots: Iterable[LotCode | None], since: datetime) -> bool:
        """Whether a person has decided about one of the lots since an instant."""
        found = (self.state.lots.get(lot) for lot in lots if lot is not None)
        return any(r is not None and r.status is not LotStatus.ON_HOLD and r.by and r.since >= since for r in found)

    def standing(self, alarm: AlarmId) -> bool:
        """Whether the alarm is on record and not over."""
        known = self.state.alarms.get(alarm)
        return known is not None and known.standing

    def acknowledged(self, alarm: AlarmId) -> bool:
        """Whether somebody has seen it since it was last raised."""
        known = self.state.alarms.get(alarm)
        return known is not None and known.status is AlarmStatus.ACKNOWLEDGED

    def recipe_of(self, lot: LotCode) -> RecipeId | None:
        """Which recipe a lot was made by; none for lots nobody knows."""
        batch, stock = self.plan.batches.get(lot), self.kitchen.stock.get(lot)
        return batch.recipe if batch else stock.recipe if stock else None

    def machine(self, task: PlannedTask) -> Equipment | None:
        """The machine that a task is on, or is planned on."""
        used = self.state.record(task.id).equipment or task.equipment
        return self.kitchen.equipment.get(used) if used is not None else None

    def stations(self, tasks: Iterable[PlannedTask]) -> tuple[StationId, ...]:
        """On whose screens something about these tasks belongs: where it is done, where it is kept."""
        found: dict[StationId, None] = {}
        for task in tasks:
            found[task.station] = None
            machine = self.machine(task)
            if machine is not None:
                found[machine.station] = None
        return tuple(found)

    def orders(self, tasks: Iterable[PlannedTask]) -> tuple[OrderId, ...]:
        """Orders touched by these tasks, through the pegs."""
        return tuple(sorted({o for t in tasks for o in self.plan.orders_of(t)}))

    def lots_in(self, equipment: EquipmentId) -> list[PlannedTask]:
        """Tasks and stays in hand on a machine or in a store."""
        found = []
        for task in self.in_hand():
            if task.lot is None or self.gone(task.lot):
                continue
            machine = self.machine(task)
            if machine is not None and machine.id == equipment:
                found.append(task)
        return found

    def may_begin(self, task: PlannedTask) -> bool:
        """Whether everything before a task is over, what it takes is there and not on hold, and its machine usable."""
        if self.on_hold(task.lot):
            return False
        for link in task.links:
            before = self.plan.tasks.get(link.after)
            if before is None:
                continue
            if self.on_hold(before.lot):
                return False
            status = self.status(before)
            ends_stay = before.kind is TaskKind.STAY and link.most == 0
            if status not in {TaskStatus.DONE, TaskStatus.SKIPPED} and not (ends_stay and status is TaskStatus.IN_HAND):
                return False
        return not self.stopped(task.equipment) and self._machine_free(task)

    def _machine_free(self, task: PlannedTask) -> bool:
        """Nothing else is in a machine that takes one thing at a time; runs and clean-downs keep
        the plan's order."""
        machine = self.kitchen.equipment.get(task.equipment) if task.equipment is not None else None
        if machine is None or machine.shared:
            return True
        for other in self.plan.at_machine.get(machine.id, ()):
            status = self.status(other)
            if status is TaskStatus.IN_HAND and self.machine(other) == machine:
                return False
            earlier = TaskKind.CLEAN in {task.kind, other.kind} and other.start < task.start
            if earlier and status is TaskStatus.WAITING and not self.gone(other.lot):
                return False
        return True

    def stopped(self, equipment: EquipmentId | None) -> bool:
        """Whether a machine cannot be used now."""
        stop = self.state.machines.get(equipment) if equipment is not None else None
        return stop is not None and (stop.until is None or self.now < stop.until)


def look(state: State, facts: Facts, now: datetime, *, advise: bool = True) -> Look | None:
    """All of it; none before there is a kitchen. Before the first plan there is an empty one: stores and
    probes are watched all the same."""
    kitchen = state.kitchen
    if kitchen is None:
        return None
    plan = state.plan or _empty_plan(kitchen)
    if state.plan is None:
        state = replace(state, plan=plan)
    return Look(
        state,
        facts,
        now,
        kitchen_index(kitchen),
        plan_index(plan),
        project(state, now),
        progress_of(state),
        advise,
    )


def _empty_plan(kitchen: Kitchen) -> Plan:
    start = kitchen.planning_start
    return Plan(
        made_at=start,
        start=start,
        end=start + timedelta(days=kitchen.horizon_days),
        batches=(),
        pegs=(),
        tasks=(),
        outlooks=(),
        method="none yet",
    )


def alarm_id(kind: AlarmKind, subject: str) -> AlarmId:
    """``window_closing:B3.churn``."""
    return AlarmId(f"{kind}:{subject}")


def minutes(number: int) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=number)
