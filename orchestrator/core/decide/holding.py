"""Tasks that somebody holds in place, or lets move again."""

from orchestrator.core.commands import HoldInPlace, LetMove
from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import TaskFreed, TaskHeld
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import TaskStatus


def hold(case: Case, command: HoldInPlace | LetMove) -> Decision | Refusal:
    """A named person holds a task where the plan has it, so that no new plan moves it; or lets it go."""
    wanted = isinstance(command, HoldInPlace)
    task = _waiting(case, command)
    if isinstance(task, Refusal):
        return task
    who = named(case, task.id, "to hold it in place" if wanted else "to let it move")
    if isinstance(who, Refusal):
        return who
    if task.held_in_place is wanted:
        status = "is held in place" if wanted else "is not held in place"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy="nothing")
    if wanted and task.start < case.now:
        remedy = "start it, or ask for a new plan"
        return Refusal(
            code=RefusalCode.WRONG_STATE, thing=task.id, status="its planned start has passed", remedy=remedy
        )
    if wanted:
        return Decision((TaskHeld(task=task.id, at=case.at, person=who, start=task.start),))
    return Decision((TaskFreed(task=task.id, at=case.at, person=who),))


def _waiting(case: Case, command: HoldInPlace | LetMove) -> PlannedTask | Refusal:
    task = case.threads.tasks.get(command.task) if case.plan is not None else None
    if task is None:
        status = "there is no plan yet" if case.plan is None else "not in the present plan"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.task, status=status, remedy="a task of the present plan")
    record = case.state.record(task.id)
    if record.status is not TaskStatus.WAITING:
        remedy = "a task that waits"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=record.status.value, remedy=remedy)
    if task.kind is not TaskKind.WORK:
        status = "goes with the work round it"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy="hold that work in place")
    return task
