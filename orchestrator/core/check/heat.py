"""The rule of heat: warm food in a crowded freezer has the longer time that it takes there."""

from collections.abc import Iterator
from datetime import timedelta
from math import ceil

from orchestrator.core.check.book import EPSILON, Book, fault, minutes
from orchestrator.core.models import Equipment, PlannedTask, TaskKind, Violation


def crowded(book: Book) -> Iterator[Violation]:
    """end - start >= usual * crowded / speed where loads being frozen at any instant sum to more than ``alone``."""
    for machine in book.kitchen.equipment:
        if machine.heat is None:
            continue
        warm = [t for t in book.running() if t.equipment == machine.id and t.kind is TaskKind.WORK]
        for task in (task for task in warm if book.movable(task)):
            most = _most(warm, task)
            if most <= machine.heat.alone.value + EPSILON:
                continue
            needed = _needed(machine, task, book.request.stretched.get(task.id, 0))
            if task.end - task.start < needed:
                says = (
                    f"{task.id} has {minutes(task.end - task.start)} min in the {machine.id}, where {most:g} of warm "
                    f"food are together and {machine.heat.alone.value:g} freeze at the usual pace: "
                    f"it needs {minutes(needed)} min"
                )
                yield fault("heat", says, task)


def _most(warm: list[PlannedTask], task: PlannedTask) -> float:
    """The most load being frozen at once while a task is there; it only ever grows as another comes in."""
    instants = [task.start, *(other.start for other in warm if task.start < other.start < task.end)]
    return max(sum(other.load for other in warm if other.start <= at < other.end) for at in instants)


def _needed(machine: Equipment, task: PlannedTask, stretched: int) -> timedelta:
    assert machine.heat is not None  # the caller looks first
    usual = ceil(task.duration.usual * machine.heat.crowded / machine.speed - 1e-6)
    return timedelta(minutes=usual + stretched)
