"""The steps in hand that have a temperature to reach, by machine and by task."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import PlannedTask, Probe, Step, Target
from orchestrator.core.pace import longest_length
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import State, TaskStatus
from orchestrator.thermal.hold import Hold


@dataclass(frozen=True, slots=True)
class InHand:
    """The task in hand on one machine, if its step has a target."""

    task: TaskId
    started_at: datetime
    step: Step
    target: Target
    deadline: datetime
    """Its longest end."""
    planned: PlannedTask | None = None
    equipment: EquipmentId | None = None
    """The machine that it is in hand on."""


class TasksInHand:
    """Found once for each state."""

    def __init__(self) -> None:
        self._by_machine: dict[EquipmentId, InHand] = {}
        self._by_task: dict[TaskId, InHand] = {}
        self._seq = -1

    def at_machine(self, state: State) -> Mapping[EquipmentId, InHand]:
        """By machine; of several on one, the last of the plan."""
        if state.seq != self._seq:
            self._seq = state.seq
            found = list(_with_target(state))
            self._by_machine = dict(found)
            self._by_task = {one.task: one for _, one in found}
        return self._by_machine

    def in_food_of(self, probe: Probe, state: State) -> InHand | None:
        """The task that a probe was put into, while that is in hand; else the one on its machine."""
        by_machine = self.at_machine(state)
        own = state.probes.task_of(probe.id)
        return self._by_task.get(own) or by_machine.get(probe.equipment) if own else by_machine.get(probe.equipment)


def _with_target(state: State) -> Iterator[tuple[EquipmentId, InHand]]:
    if state.kitchen is None or state.plan is None:
        return
    known = kitchen_index(state.kitchen)
    for task in state.plan.tasks:
        record = state.tasks.get(task.id)
        if record is None or record.status is not TaskStatus.IN_HAND or task.recipe is None or task.step is None:
            continue
        equipment = record.equipment or task.equipment
        step = known.step(task)
        if equipment is not None and step is not None and step.target is not None and record.started_at is not None:
            deadline = record.started_at + longest_length(state, task)
            yield equipment, InHand(task.id, record.started_at, step, step.target, deadline, task, equipment)


def hold_of(target: Target) -> Hold:
    """What follows a target: reached, and held as long as asked."""
    if target.at_least is not None:
        return Hold(target.at_least, "at least", target.hold, target.ceiling)
    assert target.at_most is not None
    return Hold(target.at_most, "at most", target.hold, target.ceiling)
