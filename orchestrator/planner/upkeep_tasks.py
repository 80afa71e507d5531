"""What is done to machines between runs, as tasks that people see."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from orchestrator.core.ids import TaskId
from orchestrator.core.models import (
    Attended,
    AttendedSpan,
    Duration,
    Equipment,
    PlannedTask,
    PlanRequest,
    Process,
    TaskKind,
    TaskLink,
    TaskSpec,
    Upkeep,
)
from orchestrator.planner.demand import Demand
from orchestrator.planner.problem import CleanDown, Problem
from orchestrator.planner.problem import Upkeep as Kind

KINDS: dict[Kind, Upkeep] = {
    "rinse": Upkeep.RINSE,
    "full": Upkeep.FULL,
    "hygiene": Upkeep.HYGIENE,
    "day-end": Upkeep.DAY_END,
    "pre-cool": Upkeep.PRECOOL,
}
_TITLES: dict[Kind, str] = {
    "rinse": "Rinse the {}",
    "full": "Clean the {} fully",
    "hygiene": "Clean the {} for hygiene",
    "day-end": "Clean the {} for the night",
    "pre-cool": "Pre-cool the {}",
}
_NAMES: dict[Kind, str] = {
    "rinse": "clean",
    "full": "clean",
    "hygiene": "hygiene",
    "day-end": "day-end",
    "pre-cool": "pre-cool",
}


def upkeep_id(request: PlanRequest, demand: Demand, problem: Problem, clean: CleanDown) -> TaskId:
    """The id of its task: machine, what is done, and the lot or order of the run; of a day-end clean, the day."""
    machine, run = request.kitchen.equipment[clean.machine], demand.specs[clean.before]
    day = request.kitchen.local(problem.origin + timedelta(minutes=clean.start)).date()
    owner = day if clean.kind == "day-end" else run.lot or run.order
    return TaskId(f"{machine.id}.{_NAMES[clean.kind]}.{owner}")


def kind_of(task: TaskSpec, machine: Equipment) -> Kind:
    """What a task does; in old plans a full clean-down was known by its length alone."""
    if task.upkeep is not None:
        return next(kind for kind, upkeep in KINDS.items() if upkeep is task.upkeep)
    cleaning = machine.cleaning
    return "full" if cleaning is not None and task.duration.usual >= cleaning.full else "rinse"


def upkeep_task(
    request: PlanRequest, demand: Demand, problem: Problem, clean: CleanDown, placed: Mapping[TaskId, PlannedTask]
) -> PlannedTask:
    """The task of one piece of upkeep.

    Args:
        request: What was asked.
        demand: Tasks; spec i is job i of the problem.
        problem: What `pose` made of them.
        clean: What is done, when and by whom.
        placed: Runs, and upkeep that is written already; it follows what was last on its machine.

    Returns:
        A task of its own id.
    """
    machine, run = request.kitchen.equipment[clean.machine], demand.specs[clean.before]
    name = upkeep_id(request, demand, problem, clean)
    while name in placed:
        name = TaskId(f"{name}-again")
    start, end = (problem.origin + timedelta(minutes=minute) for minute in (clean.start, clean.end))
    last = _last_before(placed, machine, start)
    crew = tuple(request.kitchen.crew[worker].id for worker in clean.workers)
    minutes = clean.end - clean.start
    alone = clean.kind == "pre-cool"
    return PlannedTask(
        id=name,
        kind=TaskKind.CLEAN,
        upkeep=KINDS[clean.kind],
        process=Process.PRECOOL if alone else Process.CLEAN,
        title=_TITLES[clean.kind].format(machine.name.lower()),
        lot=None if clean.kind == "day-end" else run.lot,
        order=None if clean.kind == "day-end" else run.order,
        station=machine.station,
        equipment_kind=machine.kind,
        duration=Duration(shortest=minutes, usual=minutes, longest=minutes),
        attended=() if alone else (Attended(when="throughout"),),
        skill=_skill(machine, clean.kind),
        links=(TaskLink(after=last.id),) if last is not None else (),
        equipment=machine.id,
        start=start,
        end=end,
        spans=() if alone else (AttendedSpan(start=start, end=end, crew=crew),),
    )


def _skill(machine: Equipment, kind: Kind) -> str | None:
    if kind == "day-end":
        return machine.day_end.skill if machine.day_end is not None else None
    return machine.cleaning.skill if machine.cleaning is not None and kind != "pre-cool" else None


def _last_before(placed: Mapping[TaskId, PlannedTask], machine: Equipment, start: datetime) -> PlannedTask | None:
    """The run, or what was done to the machine after it, that ended last."""
    before = [
        task
        for task in placed.values()
        if task.equipment == machine.id and task.end <= start and (task.recipe or task.kind is TaskKind.CLEAN)
    ]
    return max(before, key=lambda task: task.end, default=None)
