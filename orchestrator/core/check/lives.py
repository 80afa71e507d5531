"""The rule of shelf lives: nothing is frozen or handed over after the oldest of what it is made of has run out."""

from collections.abc import Iterator
from datetime import datetime

from orchestrator.core.check.book import MINUTE, Book, fault
from orchestrator.core.ids import TaskId
from orchestrator.core.lives import Clocks
from orchestrator.core.models import Violation


def lives(book: Book) -> Iterator[Violation]:
    """start(freezes) <= made(lot) + shelf life, for every lot in the mix; end(hand-over) where nothing freezes.
    Of a lot that was frozen: start(freezes) <= start(takes it) + what was left as it was frozen.

    Counted again from recipes, pegs and the ends of the last work, not from what the tasks say of it.
    """

    def ends(task: TaskId) -> datetime | None:
        return book.tasks[task].end if task in book.tasks else None

    def starts(task: TaskId) -> datetime | None:
        return book.tasks[task].start if task in book.tasks else None

    for due in Clocks(book.plan, book.kitchen, ends, starts, book.request.left_overs).dues():
        task = book.tasks.get(due.task)
        if task is None or not book.movable(task):
            continue
        instant = task.end if due.by_end else task.start
        for clock in due.clocks:
            # Facts have seconds, plans whole minutes. A life that has run out is a fact: no plan can mend it.
            if instant - clock.until >= MINUTE and clock.until >= book.request.now:
                what = "is done" if due.by_end else "starts"
                says = f"{task.id} {what} {book.clock(instant)}, after the life of {clock.lot} ends"
                yield fault("shelf life", f"{says}, {book.clock(clock.until)}", task)
