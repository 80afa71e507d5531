"""A finished curve goes on record as one more run of its step in its place."""

from datetime import datetime
from typing import Final

from orchestrator.core.decide.case import Case, Decision
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import PlannedTask, Step
from orchestrator.core.pace_commands import RecordPace
from orchestrator.core.pace_events import PaceLearned, ReductionLearned
from orchestrator.core.paces import is_known, scale_of
from orchestrator.core.state import TaskStatus
from orchestrator.thermal.estimates import usual_way

_MOST_WEIGHTS: Final = 40


def record_pace(case: Case, command: RecordPace) -> Decision | Refusal:
    """Once for each task, by the first probe in its food that saw it reach its target. Nobody has to adopt it: it moves
    what is foretold, never a limit, a verdict or the recipe's minutes."""
    task = None if case.plan is None else case.threads.tasks.get(command.task)
    if task is None or task.recipe is None or task.step is None:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.task, status="no such step", remedy="a step of the present plan"
        )
    status = case.state.record(task.id).status
    if status not in (TaskStatus.IN_HAND, TaskStatus.DONE):
        return Refusal(
            code=RefusalCode.WRONG_STATE, thing=task.id, status=f"it is {status.value}", remedy="a step that has begun"
        )
    if not command.bands or is_known(case.state.paces, task.id):
        return Decision()
    event = PaceLearned(
        task=task.id,
        equipment=command.equipment,
        recipe=task.recipe,
        step=task.step,
        at=command.reached_at,
        target_c=command.target_c,
        scale=scale_of(case.state, task),
        bands=command.bands,
    )
    return Decision((event,))


def reduction_shown(case: Case, task: PlannedTask, step: Step | None, at: datetime) -> tuple[ReductionLearned, ...]:
    """What the weights of a step that ends teach the next run; nothing where it was not weighed down to its end."""
    record = case.state.record(task.id)
    where = record.equipment or task.equipment
    if step is None or step.reduce_to is None or len(record.weighings) < 2 or where is None:
        return ()
    begun, first_kg = record.weighings[0]
    weights = [((when - begun).total_seconds() / 60.0, kg / first_kg) for when, kg in record.weighings]
    if usual_way([(weights, 1.0)], step.reduce_to) is None or task.recipe is None or task.step is None:
        return ()
    # Of many the first, the last and those evenly between.
    every = max(1, -(-(len(weights) - 1) // (_MOST_WEIGHTS - 1)))
    kept = (*weights[:-1:every], weights[-1])
    return (
        ReductionLearned(
            task=task.id,
            equipment=where,
            recipe=task.recipe,
            step=task.step,
            at=at,
            scale=scale_of(case.state, task),
            reduce_to=step.reduce_to,
            weights=tuple((round(minute, 2), round(share, 5)) for minute, share in kept),
        ),
    )
