"""Rules of clean-downs: what lies between two runs on one machine."""

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from orchestrator.core.check.book import NOTHING, Book, fault, minutes
from orchestrator.core.models import Equipment, PlannedTask, TaskKind, Upkeep, Violation

_NO_ALLERGEN_LEAVES = frozenset({Upkeep.RINSE, Upkeep.HYGIENE})
"""Cleans after which the allergens of the run before count as there still."""


def clean_downs(book: Book) -> Iterator[Violation]:
    """Between runs of different base: a rinse when allergens and colour only grow, a full clean when either drops.

    A hygiene clean is more than a rinse; after a day-end clean the machine is clean for anything.
    """
    for machine in book.kitchen.equipment:
        if machine.cleaning is None:
            continue
        runs, cleans = book.on_machine(machine)
        for first, second in pairwise(runs):
            if book.movable(second) and _base(book, first) != _base(book, second):
                yield from _between(book, machine, first, second, cleans)


def _between(
    book: Book, machine: Equipment, first: PlannedTask, second: PlannedTask, cleans: list[PlannedTask]
) -> Iterator[Violation]:
    cleaning = machine.cleaning
    if cleaning is None:
        return
    dropped = sorted(_allergens(book, first) - _allergens(book, second)) + _colour_dropped(book, first, second)
    needed = timedelta(minutes=cleaning.full if dropped else cleaning.rinse)
    slack = book.slack(first, second, *cleans)
    found = [c for c in cleans if c.start >= first.end - slack and c.end <= second.start + slack]
    if any(c.upkeep is Upkeep.DAY_END for c in found):
        return
    found = [c for c in found if not (dropped and c.upkeep in _NO_ALLERGEN_LEAVES)]
    # One that is done or in hand counts as what it was planned to be: the cook says when it is clean.
    longest = max((book.planned_length(clean) for clean in found), default=NOTHING)
    if longest + (NOTHING if all(book.movable(c) for c in found) else slack) < needed or not found:
        why = f"drops {', '.join(dropped)}" if dropped else "another base"
        says = (
            f"{machine.id}: {first.id} ends {book.clock(first.end)}, {second.id} starts {book.clock(second.start)} "
            f"({why}): needs a clean-down of {minutes(needed)} min between, has {minutes(longest)}"
        )
        yield fault("clean-down", says, first, second)


def _colour_dropped(book: Book, first: PlannedTask, second: PlannedTask) -> list[str]:
    """The colour of the first run, if the second is paler; a recipe without a colour gives and takes none."""
    colours = [recipe.colour if (recipe := book.of_task(task)) is not None else None for task in (first, second)]
    before, after = colours
    return [f"its {before} colour"] if before is not None and after is not None and before.depth > after.depth else []


def _base(book: Book, task: PlannedTask) -> str:
    recipe = book.of_task(task)
    return str(task.recipe) if recipe is None else str(recipe.base or recipe.id)


def _allergens(book: Book, task: PlannedTask) -> set[str]:
    batch = book.batches.get(task.lot) if task.lot is not None else None
    recipe = book.of_task(task)
    if batch is not None:
        return set(batch.allergens)
    return set() if recipe is None else book.allergens(recipe)


def as_written(book: Book) -> Iterator[Violation]:
    """Cleaning is attended throughout by one who may, and lasts as long as the kitchen says; a pre-cool likewise."""
    for task in book.plan.tasks:
        machine = book.equipment.get(task.equipment) if task.equipment is not None else None
        if task.kind is not TaskKind.CLEAN or machine is None or not book.movable(task):
            continue
        if task.upkeep is not None and not _has(machine, task.upkeep):
            yield fault("clean-down", f"{task.id} is a {task.upkeep}, which {machine.id} does not have", task)
        skill, length = _asked(machine, task)
        if task.cleans and (task.skill != skill or not any(p.when == "throughout" for p in task.attended)):
            says = f"{task.id} must be attended throughout by one with the skill {skill}"
            yield fault("clean-down", says, task)
        if length is not None and task.end - task.start != timedelta(minutes=length):
            says = (
                f"{task.id} lasts {minutes(task.end - task.start)} min; {machine.id} needs {length} for a {task.upkeep}"
            )
            yield fault("clean-down", says, task)


def _has(machine: Equipment, upkeep: Upkeep) -> bool:
    if upkeep is Upkeep.DAY_END:
        return machine.day_end is not None
    if upkeep is Upkeep.PRECOOL:
        return machine.precool is not None
    return machine.cleaning is not None


def _asked(machine: Equipment, task: PlannedTask) -> tuple[str | None, int | None]:
    """Skill and minutes of what is done; the minutes of old plans' clean-downs are judged between their runs."""
    cleaning = machine.cleaning
    if task.upkeep is Upkeep.DAY_END:
        return (None, None) if machine.day_end is None else (machine.day_end.skill, machine.day_end.minutes)
    if task.upkeep is Upkeep.PRECOOL:
        return None, None if machine.precool is None else machine.precool.minutes
    if cleaning is None:
        return None, None
    lengths = {Upkeep.RINSE: cleaning.rinse, Upkeep.FULL: cleaning.full, Upkeep.HYGIENE: cleaning.hygiene_min}
    return cleaning.skill, None if task.upkeep is None else lengths[task.upkeep]
