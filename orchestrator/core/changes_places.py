"""Changes of people, machines, windows and single tasks, carried out on a request."""

from datetime import datetime

from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CrewId, EquipmentId, TaskId
from orchestrator.core.models import (
    AllowedBreak,
    CrewMember,
    Kitchen,
    PlannedTask,
    PlanRequest,
    Shift,
    Stop,
    TaskKind,
    WindowClass,
)
from orchestrator.core.models.change import (
    AllowBreak,
    ExtraShift,
    FreeTask,
    HoldTask,
    MachineBack,
    MachineStopped,
    StartEarlier,
)


def extra_shift(request: PlanRequest, change: ExtraShift) -> PlanRequest | Refusal:
    """Somebody is there at another time as well; what overlaps a shift lengthens it, its breaks stay."""
    member = _member(request.kitchen, change.crew)
    if member is None:
        return unknown("member of the crew", change.crew, (m.id for m in request.kitchen.crew))
    refused = _no_span(request, change.crew, change.start, change.end)
    return refused or _with_shifts(request, member, (*member.shifts, Shift(start=change.start, end=change.end)))


def start_earlier(request: PlanRequest, change: StartEarlier) -> PlanRequest | Refusal:
    """Somebody's next shift begins sooner."""
    member = _member(request.kitchen, change.crew)
    if member is None:
        return unknown("member of the crew", change.crew, (m.id for m in request.kitchen.crew))
    later = sorted((s for s in member.shifts if s.start > change.start), key=lambda s: s.start)
    if any(s.start <= change.start < s.end for s in member.shifts):
        return bad(change.crew, "is there already then", "an instant before one of their shifts")
    if not later or change.start < request.now:
        return bad(
            change.crew, "no shift comes after that instant", "an instant from now on, before one of their shifts"
        )
    return _with_shifts(request, member, (*member.shifts, Shift(start=change.start, end=later[0].start)))


def stopped(request: PlanRequest, change: MachineStopped) -> PlanRequest | Refusal:
    """A machine cannot be used for a while."""
    if not _has_machine(request.kitchen, change.equipment):
        return unknown("machine", change.equipment, (m.id for m in request.kitchen.equipment))
    refused = _no_span(request, change.equipment, change.start, change.end)
    stop = Stop(equipment=change.equipment, start=change.start, end=change.end)
    return refused or request.model_copy(update={"stops": (*request.stops, stop)})


def back(request: PlanRequest, change: MachineBack) -> PlanRequest | Refusal:
    """A stop ends at that instant."""
    if not _has_machine(request.kitchen, change.equipment):
        return unknown("machine", change.equipment, (m.id for m in request.kitchen.equipment))
    mine = [stop for stop in request.stops if stop.equipment == change.equipment and stop.end > request.now]
    if not mine:
        return bad(change.equipment, "is not stopped", "a machine that is")
    others = tuple(stop for stop in request.stops if stop not in mine)
    # One that is to last until then may last longer than was known: back at an instant means stopped until it.
    kept = tuple(stop.model_copy(update={"end": change.at}) for stop in mine if stop.start < change.at)
    return request.model_copy(update={"stops": (*others, *kept)})


def allow_break(request: PlanRequest, change: AllowBreak) -> PlanRequest | Refusal:
    """A quality window may be missed."""
    task, after = _task(request, change.task), _task(request, change.after)
    if task is None or after is None:
        return unknown("task in the plan", change.task if task is None else change.after, _task_names(request))
    link = next((link for link in task.links if link.after == after.id), None)
    window = after.stay.window if after.stay is not None and link is not None else link.window if link else None
    if window is not WindowClass.QUALITY:
        status = "does not follow that task" if window is None else f"is held by a {window} window"
        return bad(change.task, status, "a task and what it follows by a quality window")
    named = AllowedBreak(task=task.id, after=after.id, side=change.side, minutes=change.minutes)
    return request.model_copy(update={"allowed": (*request.allowed, named)})


def hold(request: PlanRequest, change: HoldTask) -> PlanRequest | Refusal:
    """A task stays where it is."""
    return _held(request, change.task, held=True)


def free(request: PlanRequest, change: FreeTask) -> PlanRequest | Refusal:
    """A task may move again."""
    return _held(request, change.task, held=False)


def _held(request: PlanRequest, name: TaskId, *, held: bool) -> PlanRequest | Refusal:
    task, plan = _task(request, name), request.previous
    if task is None or plan is None:
        return unknown("task in the plan", name, _task_names(request))
    if task.kind is not TaskKind.WORK or any(actual.task == name for actual in request.actuals):
        return bad(name, "has begun, or follows the tasks round it", "work that has not begun")
    if task.held_in_place is held:
        return bad(name, "is held in place" if held else "is not held in place", "the other of both")
    kept = tuple(t.model_copy(update={"held_in_place": held}) if t.id == name else t for t in plan.tasks)
    return request.model_copy(update={"previous": plan.model_copy(update={"tasks": kept})})


def _task(request: PlanRequest, task: TaskId) -> PlannedTask | None:
    tasks = request.previous.tasks if request.previous is not None else ()
    return next((known for known in tasks if known.id == task), None)


def _task_names(request: PlanRequest) -> list[str]:
    return [task.id for task in request.previous.tasks] if request.previous is not None else []


def _member(kitchen: Kitchen, who: CrewId) -> CrewMember | None:
    return next((member for member in kitchen.crew if member.id == who), None)


def _has_machine(kitchen: Kitchen, machine: EquipmentId) -> bool:
    return any(known.id == machine for known in kitchen.equipment)


def _no_span(request: PlanRequest, thing: str, start: datetime, end: datetime) -> Refusal | None:
    if end <= start:
        return bad(thing, "would end before it begins", "an end after the start")
    if end <= request.now or start >= request.kitchen.planned_until:
        return bad(thing, "that time is not planned", "a time between now and the end of the planned days")
    return None


def _with_shifts(request: PlanRequest, member: CrewMember, shifts: tuple[Shift, ...]) -> PlanRequest:
    """With overlapping and adjoining shifts as one: nobody may work across the seam of two."""
    joined: list[Shift] = []
    for shift in sorted(shifts, key=lambda s: s.start):
        if joined and shift.start <= joined[-1].end:
            last = joined.pop()
            breaks = tuple(sorted({*last.breaks, *shift.breaks}, key=lambda b: b.start))
            joined.append(Shift(start=last.start, end=max(last.end, shift.end), breaks=breaks))
        else:
            joined.append(shift)
    crew = tuple(
        m.model_copy(update={"shifts": tuple(joined)}) if m.id == member.id else m for m in request.kitchen.crew
    )
    return request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"crew": crew})})
