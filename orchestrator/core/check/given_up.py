"""The rule of what a plan gives up: only what has begun, is not done, and could not simply have stayed."""

from collections.abc import Callable, Iterator
from datetime import datetime

from orchestrator.core.check import clean_downs, crew, heat, lives, machines, supplies, times, upkeep
from orchestrator.core.check.book import Book, fault
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.lives import Clocks
from orchestrator.core.models import Batch, PlannedTask, Violation

_PLACES: tuple[Callable[[Book], Iterator[Violation]], ...] = (
    times.durations,
    times.links,
    times.stays,
    times.present,
    supplies.supplies,
    lives.lives,
    machines.right_machine,
    machines.capacity,
    machines.stopped,
    heat.crowded,
    clean_downs.clean_downs,
    upkeep.precools,
    upkeep.day_ends,
    upkeep.hygiene,
    crew.portions,
    crew.presence,
    crew.one_thing_at_a_time,
)
"""What decides whether work can be where it is."""


def given_up(book: Book) -> Iterator[Violation]:
    """A lot that is given up has begun, has work left, and its work left breaks a rule where the plan before had it.

    Whether a cleverer plan could have finished it, nobody can prove; but what could have stayed where it was, beside
    all that the plan does instead, is not given up.
    """
    for lot in book.plan.given_up:
        batch = (
            next((b for b in book.request.previous.batches if b.lot == lot), None) if book.request.previous else None
        )
        if batch is None:
            yield fault("given up", f"{lot} is given up, but is no batch of the plan before")
            continue
        begun, left = _work(book, batch)
        if not begun or not left:
            why = "has not begun" if not begun else "has no work left"
            yield fault("given up", f"{lot} is given up, but {why}: it is left out, or kept")
        elif _could_stay(book, lot) and not _outlived(book, lot):
            yield fault("given up", f"{lot} is given up, but what is left of it could stay where it was", *left)


def _work(book: Book, batch: Batch) -> tuple[list[TaskId], list[TaskId]]:
    """Steps of work of a batch that have begun, and those that have not."""
    recipe = book.recipe_of(batch.lot)
    steps = [s for s in recipe.steps if s.per == "batch" and s.stay is None] if recipe is not None else []
    names = [TaskId(f"{batch.lot}.{step.id}") for step in steps]
    return [name for name in names if name in book.actuals], [name for name in names if name not in book.actuals]


def _could_stay(book: Book, lot: LotCode) -> bool:
    """Whether the plan breaks nothing more with the lot's tasks where the plan before had them."""
    left = tuple(task for task in book.before.values() if _mine(task, lot) and task.id not in book.tasks)
    kept = tuple(name for name in book.plan.given_up if name != lot)
    tasks = (*book.plan.tasks, *left)
    with_it = Book(book.plan.model_copy(update={"tasks": tasks, "given_up": kept}), book.request)
    known = {(broken.rule, broken.says) for broken in _broken(book)}
    return bool(left) and all((broken.rule, broken.says) in known for broken in _broken(with_it))


def _outlived(book: Book, lot: LotCode) -> bool:
    """Whether who was to take of it comes only after a date in it has passed, as of a left-over that has gone in."""
    assert book.request.previous is not None
    before, brought = book.before, {one.lot for one in book.request.left_overs if one.task.startswith(f"{lot}.")}

    def ends(task: TaskId) -> datetime | None:
        return before[task].end if task in before else None

    def starts(task: TaskId) -> datetime | None:
        return before[task].start if task in before else None

    for due in Clocks(book.request.previous, book.kitchen, ends, starts, book.request.left_overs).dues():
        instant = ends(due.task) if due.by_end else starts(due.task)
        mine = (clock.until for clock in due.clocks if clock.lot == lot or clock.lot in brought)
        if instant is not None and any(until < instant for until in mine):
            return True
    return False


def _broken(book: Book) -> Iterator[Violation]:
    """What is wrong with places; food may leave its store for nobody, as who was to take it is served otherwise."""
    yield from (broken for rule in _PLACES for broken in rule(book) if broken.rule != "join")


def _mine(task: PlannedTask, lot: LotCode) -> bool:
    return task.lot == lot
