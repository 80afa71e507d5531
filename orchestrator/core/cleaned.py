"""Time since cleaning: for how long a machine has been in use since its last thorough clean, judged by its limit."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.date_marking import judge_elapsed
from orchestrator.core.events import GateEvidence
from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import Equipment, PlannedTask, TaskKind, Upkeep
from orchestrator.core.models.limit import LimitId, LimitKind
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.state import State, TaskStatus

CLEANING: Final = LimitId("cleaning-interval")
_THOROUGH: Final = (Upkeep.FULL, Upkeep.HYGIENE, Upkeep.DAY_END)


@dataclass(frozen=True, slots=True)
class InUse:
    """How a machine stands since its last thorough clean."""

    cleaned_at: datetime | None
    """The end of the last thorough clean on record."""
    since: datetime | None
    """The first run after it; none while it is clean."""
    verdict: LimitVerdict | None
    """None while it is clean: nothing counts yet."""
    every_min: int
    own: bool
    """By the equipment's own interval; else by the limit's."""

    @property
    def until(self) -> datetime | None:
        """When it must have been cleaned again; none while it is clean."""
        return None if self.since is None else self.since + timedelta(minutes=self.every_min)


def in_use(state: State, machine: Equipment, now: datetime) -> InUse | None:
    """How a machine stands; none for one without a clean-down, or in a kitchen without the limit.

    The equipment's own interval is taken where it names one: it says for this machine what the code allows it.

    Source: FDA Food Code 2022, 4-602.11(C): at least every 4 hours, counted here from the first run after a clean, as
    the planner does; (D) allows longer in some cases. The kitchen's own code replaces it.
    """
    limit = None if state.kitchen is None else state.kitchen.limit(CLEANING)
    if limit is None or limit.kind is not LimitKind.ELAPSED or machine.cleaning is None:
        return None
    own = machine.cleaning.every
    every_min = own if own is not None else round((limit.rows[0].within or 0.0) / 60.0)
    cleaned_at, since = _since(state, machine.id)
    if since is None:
        return InUse(cleaned_at, None, None, every_min, own is not None)
    row = limit.rows[0].model_copy(update={"within": every_min * 60.0})
    said = judge_elapsed(limit.model_copy(update={"rows": (row,)}), since, now)
    return InUse(cleaned_at, since, said, every_min, own is not None)


def _since(state: State, machine: EquipmentId) -> tuple[datetime | None, datetime | None]:
    """When it was last cleaned thoroughly, and when its first run after that began."""
    tasks = plan_index(state.plan).tasks if state.plan is not None else {}
    cleaned_at: datetime | None = None
    runs: list[datetime] = []
    for task_id, record in state.tasks.items():
        task = tasks.get(task_id)
        if task is None or (record.equipment or task.equipment) != machine or record.started_at is None:
            continue
        if task.kind is TaskKind.WORK:
            runs.append(record.started_at)
        elif _thorough(state, task) and record.status is TaskStatus.DONE and record.finished_at is not None:
            cleaned_at = record.finished_at if cleaned_at is None else max(cleaned_at, record.finished_at)
    since = min((run for run in runs if cleaned_at is None or run >= cleaned_at), default=None)
    return cleaned_at, since


def _thorough(state: State, task: PlannedTask) -> bool:
    if task.kind is not TaskKind.CLEAN or task.upkeep is not None or state.kitchen is None or task.equipment is None:
        return task.upkeep in _THOROUGH
    cleaning = kitchen_index(state.kitchen).equipment[task.equipment].cleaning  # of plans before upkeep had a name
    return cleaning is not None and task.duration.usual >= cleaning.full


def cleaning_gate(
    state: State, task: PlannedTask, machine: EquipmentId | None, now: datetime
) -> tuple[GateEvidence, ...]:
    """Whether a machine was cleaned in time to begin work on it; nothing where its equipment names no interval.

    Only an interval of the machine's own shuts the gate: by it the planner puts cleans between runs. The limit's is
    shown beside the machine.
    """
    place = kitchen_index(state.kitchen).equipment.get(machine) if state.kitchen is not None and machine else None
    if place is None or task.kind is not TaskKind.WORK:
        return ()
    found = in_use(state, place, now)
    if found is None or not found.own or found.until is None or found.verdict is None:
        return ()
    assert state.kitchen is not None
    met, until = found.verdict.status == "met", state.kitchen.local(found.until)
    says = f"{place.name} {'is' if met else 'was'} to be cleaned by {until:%a %H:%M}"
    return (GateEvidence(says=says, met=met),)
