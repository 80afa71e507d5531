"""How a step ran in its place before: what a new run's estimate leans on. A prediction only; no verdict asks for it."""

from collections.abc import Mapping
from typing import Final

from orchestrator.core.ids import EquipmentId, RecipeId, StepId
from orchestrator.core.models import PlannedTask
from orchestrator.core.pace_events import PaceLearned, ReductionLearned
from orchestrator.core.plan_index import plan_index
from orchestrator.core.state import State

PaceKey = tuple[EquipmentId, RecipeId, StepId]
MOST_RUNS: Final = 12
"""The newest of each place and step: rings and pans are replaced, and the state stays small."""


def key_of(equipment: EquipmentId, recipe: RecipeId, step: StepId) -> PaceKey:
    """What is learned for itself: the step of a recipe on one machine."""
    return equipment, recipe, step


def earlier_runs(state: State, task: PlannedTask, equipment: EquipmentId, target_c: float) -> tuple[PaceLearned, ...]:
    """Of other tasks of the same step on the same machine to the same target, the oldest first."""
    if task.recipe is None or task.step is None:
        return ()
    runs = state.paces.get(key_of(equipment, task.recipe, task.step), ())
    return tuple(run for run in runs if run.task != task.id and run.target_c == target_c)


def earlier_reductions(state: State, task: PlannedTask, reduce_to: float) -> tuple[ReductionLearned, ...]:
    """Of other tasks of the same step to the same share on the machine where this one is done, the oldest first."""
    record = state.tasks.get(task.id)
    where = (record.equipment if record is not None else None) or task.equipment
    if task.recipe is None or task.step is None or where is None:
        return ()
    runs = state.reductions.get(key_of(where, task.recipe, task.step), ())
    return tuple(run for run in runs if run.task != task.id and run.reduce_to == reduce_to)


def scale_of(state: State, task: PlannedTask) -> float:
    """Of a task's batch; 1 where it has none."""
    batch = plan_index(state.plan).batches.get(task.lot) if state.plan is not None and task.lot is not None else None
    return batch.scale if batch is not None else 1.0


def is_known(paces: Mapping[PaceKey, tuple[PaceLearned, ...]], task: str) -> bool:
    """Whether a task's own pace is on record."""
    return any(run.task == task for runs in paces.values() for run in runs)
