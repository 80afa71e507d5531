"""What finished tasks and a manager's decision change about how long steps take."""

from collections.abc import Mapping
from dataclasses import replace
from math import ceil
from typing import assert_never

from orchestrator.core.durations import MOST_SAMPLES, StepKey, with_figures
from orchestrator.core.events import DurationsAdopted, DurationsRestored, TaskFinished
from orchestrator.core.evolve.tasks import TaskEvent
from orchestrator.core.models import Kitchen, PlannedTask, TaskKind
from orchestrator.core.models.durations import AdoptedFigures, Sample
from orchestrator.core.paces import scale_of
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.state import State, TaskRecord, TaskStatus

_AT_ONCE_MIN = 1.0
"""Started and finished within a minute: entered together afterwards, and no measure of anything."""


def noted(state: State, event: TaskEvent) -> State:
    """A finished step of work is a sample of how long it takes; ``state`` has its record already."""
    if not isinstance(event, TaskFinished) or state.plan is None or state.kitchen is None:
        return state
    task = plan_index(state.plan).tasks.get(event.task)
    if task is None or task.kind is not TaskKind.WORK or task.recipe is None or task.step is None:
        return state
    sample = _sample(state.kitchen, state, task)
    if sample is None:
        return state
    key = (task.recipe, task.step)
    others = tuple(s for s in state.samples.get(key, ()) if s.task != task.id)
    return replace(state, samples={**state.samples, key: (*others, sample)[-MOST_SAMPLES:]})


def _sample(kitchen: Kitchen, state: State, task: PlannedTask) -> Sample | None:
    record = state.record(task.id)
    if record.started_at is None or record.finished_at is None:
        return None
    took = (record.finished_at - record.started_at).total_seconds() / 60
    if took < _AT_ONCE_MIN:
        return None
    return Sample(
        task=task.id,
        minutes=round(took * _speed(kitchen, task, record) / _trays(kitchen, task), 3),
        scale=scale_of(state, task),
        equipment=record.equipment,
        at=record.finished_at,
    )


def _speed(kitchen: Kitchen, task: PlannedTask, record: TaskRecord) -> float:
    where = record.equipment or task.equipment
    machine = kitchen_index(kitchen).equipment.get(where) if where is not None else None
    return machine.speed if machine is not None else 1.0


def _trays(kitchen: Kitchen, task: PlannedTask) -> int:
    """How many trays a task of short-cycle work is; 1 for any other."""
    step = kitchen_index(kitchen).step(task)
    if step is None or step.cycle is None or task.quantity is None:
        return 1
    # A hair over a full tray is rounding, not another tray.
    return max(1, ceil(task.quantity.value / step.cycle.pieces - 1e-6))


def forget_unfinished(state: State) -> State:
    """What was taken back is no sample."""

    def stands(sample: Sample) -> bool:
        return state.record(sample.task).status is TaskStatus.DONE

    kept: Mapping[StepKey, tuple[Sample, ...]] = {
        key: tuple(filter(stands, samples)) for key, samples in state.samples.items()
    }
    return state if kept == state.samples else replace(state, samples=kept)


def apply(state: State, event: DurationsAdopted | DurationsRestored) -> State:
    """The recipe's step gets other figures, or its own again."""
    if state.kitchen is None:
        return state
    key = (event.recipe, event.step)
    match event:
        case DurationsAdopted():
            told = AdoptedFigures(
                figures=event.figures, written=event.written, samples=event.samples, at=event.at, person=event.person
            )
            kitchen = with_figures(state.kitchen, key, event.figures)
            return replace(state, kitchen=kitchen, adopted={**state.adopted, key: told})
        case DurationsRestored():
            kitchen = with_figures(state.kitchen, key, event.written)
            return replace(state, kitchen=kitchen, adopted={k: a for k, a in state.adopted.items() if k != key})
        case _:
            assert_never(event)
