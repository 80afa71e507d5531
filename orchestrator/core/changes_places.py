"""Changes of machines, windows and single tasks, carried out on a request or refused."""

from orchestrator.core.changes_refusals import bad, no_span, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import AllowedBreak, PlannedTask, PlanRequest, Stop, TaskKind, WindowClass
from orchestrator.core.models.change import AllowBreak, FreeTask, HoldTask, MachineBack, MachineStopped


def may_stop(request: PlanRequest, change: MachineStopped) -> Refusal | None:
    """Why a machine cannot be stopped then."""
    refused = _no_machine(request, change.equipment)
    return refused or no_span(request, change.equipment, change.start, change.end)


def stopped(request: PlanRequest, change: MachineStopped) -> PlanRequest:
    """A machine cannot be used for a while."""
    stop = Stop(equipment=change.equipment, start=change.start, end=change.end)
    return request.model_copy(update={"stops": (*request.stops, stop)})


def may_be_back(request: PlanRequest, change: MachineBack) -> Refusal | None:
    """Why a machine cannot be back."""
    refused = _no_machine(request, change.equipment)
    if refused is None and not any(s.equipment == change.equipment and s.end > request.now for s in request.stops):
        return bad(change.equipment, "is not stopped", "a machine that is")
    return refused


def back(request: PlanRequest, change: MachineBack) -> PlanRequest:
    """A stop ends at that instant."""
    mine = [stop for stop in request.stops if stop.equipment == change.equipment and stop.end > request.now]
    others = tuple(stop for stop in request.stops if stop not in mine)
    # One that is to last until then may last longer than was known: back at an instant means stopped until it.
    kept = tuple(stop.model_copy(update={"end": change.at}) for stop in mine if stop.start < change.at)
    return request.model_copy(update={"stops": (*others, *kept)})


def may_break(request: PlanRequest, change: AllowBreak) -> Refusal | None:
    """Why a window may not be missed."""
    task, after = _task(request, change.task), _task(request, change.after)
    if task is None or after is None:
        return unknown("task in the plan", change.task if task is None else change.after, _task_names(request))
    link = next((link for link in task.links if link.after == after.id), None)
    window = after.stay.window if after.stay is not None and link is not None else link.window if link else None
    if window is not WindowClass.QUALITY:
        status = "does not follow that task" if window is None else f"is held by a {window} window"
        return bad(change.task, status, "a task and what it follows by a quality window")
    return None


def allow_break(request: PlanRequest, change: AllowBreak) -> PlanRequest:
    """A quality window may be missed."""
    named = AllowedBreak(task=change.task, after=change.after, side=change.side, minutes=change.minutes)
    return request.model_copy(update={"allowed": (*request.allowed, named)})


def may_hold(request: PlanRequest, change: HoldTask) -> Refusal | None:
    """Why a task cannot be held in place."""
    return _not_held(request, change.task, held=True)


def hold(request: PlanRequest, change: HoldTask) -> PlanRequest:
    """A task stays where it is."""
    return _held(request, change.task, held=True)


def may_free(request: PlanRequest, change: FreeTask) -> Refusal | None:
    """Why a task cannot be let go."""
    return _not_held(request, change.task, held=False)


def free(request: PlanRequest, change: FreeTask) -> PlanRequest:
    """A task may move again."""
    return _held(request, change.task, held=False)


def _not_held(request: PlanRequest, name: TaskId, *, held: bool) -> Refusal | None:
    task = _task(request, name)
    if task is None:
        return unknown("task in the plan", name, _task_names(request))
    if task.kind is not TaskKind.WORK or any(actual.task == name for actual in request.actuals):
        return bad(name, "has begun, or follows the tasks round it", "work that has not begun")
    if task.held_in_place is held:
        return bad(name, "is held in place" if held else "is not held in place", "the other of both")
    return None


def _held(request: PlanRequest, name: TaskId, *, held: bool) -> PlanRequest:
    plan = request.previous
    if plan is None:
        return request
    kept = tuple(t.model_copy(update={"held_in_place": held}) if t.id == name else t for t in plan.tasks)
    return request.model_copy(update={"previous": plan.model_copy(update={"tasks": kept})})


def _task(request: PlanRequest, task: TaskId) -> PlannedTask | None:
    tasks = request.previous.tasks if request.previous is not None else ()
    return next((known for known in tasks if known.id == task), None)


def _task_names(request: PlanRequest) -> list[str]:
    return [task.id for task in request.previous.tasks] if request.previous is not None else []


def _no_machine(request: PlanRequest, machine: EquipmentId) -> Refusal | None:
    if any(known.id == machine for known in request.kitchen.equipment):
        return None
    return unknown("machine", machine, (m.id for m in request.kitchen.equipment))
