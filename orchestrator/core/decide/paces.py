"""A finished curve goes on record as one more run of its step in its place."""

from orchestrator.core.decide.case import Case, Decision
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.pace_commands import RecordPace
from orchestrator.core.pace_events import PaceLearned
from orchestrator.core.paces import is_known, scale_of
from orchestrator.core.state import TaskStatus


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
