"""Whether a machine can take a task now: kind, stopped, free, load, clean for it."""

from datetime import datetime

from orchestrator.core.allergens import allergens_of
from orchestrator.core.decide.case import Case
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import Equipment, PlannedTask, TaskKind, Upkeep
from orchestrator.core.state import TaskStatus

_TINY = 0.011
"""Loads are compared to a hundredth of their unit, as the planner counts them."""


def free_machine(case: Case, task: PlannedTask, wanted: EquipmentId | None) -> EquipmentId | Refusal | None:
    """The machine that a task is to be started on, if it can take it now; none if it needs none."""
    chosen = wanted or task.equipment
    if chosen is None:
        return None
    machine = case.known.equipment.get(chosen)
    kind = task.equipment_kind
    if machine is None or (wanted is not None and wanted != task.equipment and machine.kind != kind):
        return Refusal(
            code=RefusalCode.BAD_VALUE,
            thing=task.id,
            status=f"{chosen} is {'unknown' if machine is None else f'a {machine.kind}'}",
            remedy=f"a machine of the kind {kind}" if kind else "no machine",
        )
    return _stopped(case, task, machine) or _full(case, task, machine) or _unclean(case, task, machine) or chosen


def _stopped(case: Case, task: PlannedTask, machine: Equipment) -> Refusal | None:
    stop = case.state.machines.get(machine.id)
    if stop is None or (stop.until is not None and stop.until <= case.at) or task.cleans:
        return None
    until = f" until {case.clock(stop.until)}" if stop.until is not None else ""
    return Refusal(
        code=RefusalCode.WRONG_STATE,
        thing=task.id,
        status=f"{machine.name} is stopped{until}",
        remedy="another machine of its kind, or say that it is back",
    )


def in_machine(case: Case, machine: EquipmentId) -> list[PlannedTask]:
    """Tasks in hand on a machine."""
    return [
        case.threads.tasks[task]
        for task, record in case.state.tasks.items()
        if record.status is TaskStatus.IN_HAND and record.equipment == machine and task in case.threads.tasks
    ]


def _full(case: Case, task: PlannedTask, machine: Equipment) -> Refusal | None:
    leaving = {stay.id for stay in case.threads.joined_stays(task)}
    inside = [other for other in in_machine(case, machine.id) if other.id not in leaving]
    most = machine.capacity.value if machine.capacity is not None else None
    if machine.shared and most is not None:
        filled = sum(other.load for other in inside)
        if filled + task.load <= most + _TINY:
            return None
        status = f"{machine.name} holds {filled:g} of {most:g}; {task.load:g} more do not fit"
        remedy = "make room first, or another place of its kind"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy=remedy)
    if inside:
        status = f"{machine.name} is taken by {inside[0].title} ({inside[0].id})"
        remedy = f"finish {inside[0].id} first, or another machine of its kind"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=status, remedy=remedy)
    least = machine.least.value if machine.least is not None else 0.0
    if task.kind is TaskKind.CLEAN or most is None or least - _TINY <= task.load <= most + _TINY:
        return None
    return Refusal(
        code=RefusalCode.BAD_VALUE,
        thing=task.id,
        status=f"its load is {task.load:g}; {machine.name} takes {least:g} to {most:g}",
        remedy="a machine that takes this load",
    )


def _unclean(case: Case, task: PlannedTask, machine: Equipment) -> Refusal | None:
    """The clean-down since the last run is done and long enough; it is never traded away."""
    if machine.cleaning is None or task.kind is not TaskKind.WORK:
        return None
    ended = [
        (record.finished_at, other)
        for other_id, record in case.state.tasks.items()
        if record.status in (TaskStatus.DONE, TaskStatus.SKIPPED)
        and record.started_at is not None
        and record.equipment == machine.id
        and record.finished_at is not None
        and (other := case.threads.tasks.get(other_id)) is not None
    ]
    runs = [pair for pair in ended if pair[1].kind is TaskKind.WORK]
    if not runs:
        return None
    last_end, last = max(runs, key=lambda pair: pair[0])
    # By when it began: under a standing clock it may end at the very instant at which the run ended.
    cleans = [
        other for _, other in ended if other.cleans and _begun(case, other) >= last_end and _finished(case, other)
    ]
    if _base(case, last) == _base(case, task) or any(other.upkeep is Upkeep.DAY_END for other in cleans):
        return None
    dropped = sorted(_allergens(case, last) - _allergens(case, task)) + _colour_dropped(case, last, task)
    needed = machine.cleaning.full if dropped else machine.cleaning.rinse
    enough = {None, Upkeep.FULL} if dropped else {None, *Upkeep}
    if any(other.upkeep in enough and other.duration.usual >= needed for other in cleans):
        return None
    what = "a full clean" if dropped else "a rinse"
    why = f" ({', '.join(dropped)} was in it)" if dropped else ""
    return Refusal(
        code=RefusalCode.GATE_SHUT,
        thing=task.id,
        status=f"{machine.name} is not clean after {last.title}{why}",
        remedy=f"finish {what} of {needed} min first: it is never traded away",
    )


def _begun(case: Case, task: PlannedTask) -> datetime:
    record = case.state.record(task.id)
    return record.started_at or record.finished_at or case.at


def _finished(case: Case, task: PlannedTask) -> bool:
    return case.state.record(task.id).status is TaskStatus.DONE


def _base(case: Case, task: PlannedTask) -> str:
    recipe = case.known.made_by(task)
    return str(task.recipe) if recipe is None else str(recipe.base or recipe.id)


def _colour_dropped(case: Case, before: PlannedTask, task: PlannedTask) -> list[str]:
    """In words, where a paler run is to follow a deeper one."""
    recipes = [case.known.made_by(t) for t in (before, task)]
    first, then = (recipe.colour if recipe is not None else None for recipe in recipes)
    return [f"a {first} colour"] if first is not None and then is not None and first.depth > then.depth else []


def _allergens(case: Case, task: PlannedTask) -> set[str]:
    batch = case.threads.batches.get(task.lot) if task.lot is not None else None
    recipe = case.known.made_by(task)
    if batch is not None:
        return set(batch.allergens)
    # A lot that the plan no longer knows was made by its recipe all the same.
    return set() if recipe is None else allergens_of(case.known.recipes, recipe)
