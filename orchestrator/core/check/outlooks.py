"""Rules of what the plan promises: outlooks are computed again from the tasks; stock is used in time."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from math import ceil

from orchestrator.core.check.book import Book, fault
from orchestrator.core.models import Order, Outlook, TaskKind, Violation


def outlooks(book: Book) -> Iterator[Violation]:
    """ready_at is the last end of an order's tasks; late and margin are its distance to the due instant."""
    told = {outlook.order: outlook for outlook in book.plan.outlooks}
    for order in book.kitchen.orders:
        outlook = told.get(order.id)
        if outlook is None:
            yield fault("outlook", f"{order.id} has no outlook")
        elif outlook.met:
            yield from _outlook(book, order, outlook)
        elif not outlook.reason:
            yield fault("outlook", f"{order.id} is unmet without a reason")


def ready_at(book: Book, order: Order) -> datetime | None:
    """When the last task of an order ends; without such tasks, when its lots have stayed long enough."""
    own = [t for t in book.plan.tasks if t.order == order.id and t.kind is TaskKind.WORK]
    if own:
        return max(task.end for task in own)
    lots = {peg.lot for peg in book.plan.pegs if peg.order == order.id}
    ends = []
    for task in book.plan.tasks:
        if task.lot not in lots:
            continue
        if task.kind is TaskKind.WORK:
            ends.append(task.end)
        elif task.kind is TaskKind.STAY and task.id.endswith(f".{order.id}"):
            ends.append(task.start + timedelta(minutes=task.stay.least if task.stay is not None else 0))
    return max(ends, default=None)


def _outlook(book: Book, order: Order, outlook: Outlook) -> Iterator[Violation]:
    ready = ready_at(book, order)
    if ready is None or outlook.ready_at is None:
        yield fault("outlook", f"{order.id} is called met, but nothing is made for it")
        return
    if abs(outlook.ready_at - ready) >= timedelta(minutes=1):
        says = f"{order.id} is ready {book.clock(ready)}, not {book.clock(outlook.ready_at)}"
        yield fault("outlook", says)
        return
    off = (ready - order.due).total_seconds() / 60
    # Facts have seconds; late minutes count from the first second, so either whole minute is honest.
    if abs(outlook.late_min - max(0, ceil(off))) > (off % 1 > 0) or (outlook.late_min == 0) != (ceil(off) <= 0):
        yield fault("outlook", f"{order.id} is {max(0, ceil(off))} min late, not {outlook.late_min}")
    if abs(outlook.margin_min - max(0, int(-off))) > (off % 1 > 0):
        yield fault("outlook", f"{order.id} has {max(0, int(-off))} min to spare, not {outlook.margin_min}")
    if order.earliest is not None and ready < order.earliest and ready > book.request.now:
        says = f"{order.id} is handed over {book.clock(ready)}, before {book.clock(order.earliest)}"
        yield fault("outlook", says)


def use_by(book: Book) -> Iterator[Violation]:
    """Stock leaves its place for a consumer before its use-by instant."""
    for task in book.plan.tasks:
        lot = book.stock.get(task.lot) if task.lot is not None and task.kind is TaskKind.STAY else None
        if lot is None or lot.use_by is None or book.status(task) in ("done", "skipped"):
            continue
        taken = book.followers.get(task.id, ())
        if taken and task.end > lot.use_by >= book.request.now:
            says = f"{task.id} is taken {book.clock(task.end)}, after its use-by {book.clock(lot.use_by)}"
            yield fault("use by", says, task)
