"""Rules of ingredients: none is taken before it is there, delivered, ripe or left over by a step."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from orchestrator.core.check.book import Book, fault
from orchestrator.core.models import PlannedTask, Supply, TaskKind, Violation

_EPS = 1e-6
_FIRST = datetime.min.replace(tzinfo=UTC)
_LAST = datetime.max.replace(tzinfo=UTC)


@dataclass(slots=True)
class _Heap:
    """So much of an ingredient, from when until when."""

    since: datetime
    until: datetime
    value: float


def supplies(book: Book) -> Iterator[Violation]:
    """start >= ready of every ingredient that the task's step takes; all that starts sooner takes together no more than
    is on hand, and what steps have left by then that still keeps."""
    for supply in book.kitchen.supplies:
        heaps = _heaps(book, supply)
        if supply.on_hand is None and not heaps:
            yield from _none_there(book, supply)
        else:
            yield from _within_what_is_there(book, supply, heaps)


def _none_there(book: Book, supply: Supply) -> Iterator[Violation]:
    for task in book.plan.tasks:
        if book.movable(task) and task.start < supply.ready and _takes(book, task, supply) is not None:
            when = f"takes {supply.ingredient} at {book.clock(task.start)}"
            why = "ripe" if supply.why == "ripe" else "delivered"
            yield fault("supplies", f"{task.id} {when}, which is {why} {book.clock(supply.ready)}", task)


def _takes(book: Book, task: PlannedTask, supply: Supply) -> float | None:
    """How much a task of work takes of it; none if its step does not, 0 where its batch is not known."""
    recipe = book.of_task(task)
    if recipe is None or task.kind is not TaskKind.WORK:
        return None
    steps = (step for step in recipe.steps if step.id == task.step)
    amounts = [take.amount.value for step in steps for take in step.takes if take.ingredient == supply.ingredient]
    batch = book.batches.get(task.lot) if task.lot is not None else None
    return sum(amounts) * (batch.scale if batch is not None else 0.0) if amounts else None


def _heaps(book: Book, supply: Supply) -> list[_Heap]:
    """What steps that are not over will leave; what others have left is on hand."""
    found = []
    for task in book.plan.tasks:
        recipe, batch = book.of_task(task), book.batches.get(task.lot) if task.lot is not None else None
        if recipe is None or batch is None or book.status(task) in ("done", "skipped"):
            continue
        for leave in (leave for step in recipe.steps if step.id == task.step for leave in step.leaves):
            if leave.ingredient == supply.ingredient and task.kind is TaskKind.WORK:
                until = _LAST if leave.keeps is None else task.end + timedelta(minutes=leave.keeps)
                found.append(_Heap(task.end, until, leave.amount.value * batch.scale))
    return found


def _within_what_is_there(book: Book, supply: Supply, heaps: list[_Heap]) -> Iterator[Violation]:
    on_hand = supply.on_hand.value if supply.on_hand is not None else 0.0
    heaps = sorted([_Heap(_FIRST, _LAST, on_hand), *heaps], key=lambda heap: (heap.until, heap.since))
    early: list[tuple[PlannedTask, float]] = []
    for task in sorted(book.plan.tasks, key=lambda task: (task.start, task.id)):
        before = supply.counted_at is not None and task.start < supply.counted_at
        amount = _takes(book, task, supply)
        # Of what nobody counted, what facts took was there.
        unknown = supply.on_hand is None and not book.movable(task)
        if amount is not None and task.start < supply.ready and not before and not unknown:
            early.append((task, amount))
    lacking = [task for task, amount in early if not _take(heaps, task.start, amount) and book.movable(task)]
    sooner = [task for task, amount in early if amount > 0 and book.movable(task)]
    if sooner and lacking:
        total = sum(amount for _, amount in early)
        says = f"work before {book.clock(supply.ready)} takes {total:g} of {supply.ingredient}, "
        there = f"{supply.on_hand} is there" if supply.on_hand is not None else "none is there"
        more = ", and what steps leave is not enough in time" if len(heaps) > 1 else ""
        yield fault("supplies", f"{says}{there}{more}", *(lacking if more else sooner))


def _take(heaps: list[_Heap], at: datetime, amount: float) -> bool:
    """Take so much of what is there at an instant, what spoils first at the head; False if there is not enough."""
    fit = [heap for heap in heaps if heap.since <= at <= heap.until]
    enough = sum(heap.value for heap in fit) >= amount - _EPS
    for heap in fit:
        part = min(amount, heap.value)
        heap.value -= part
        amount -= part
    return enough
