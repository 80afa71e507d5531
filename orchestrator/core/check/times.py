"""Rules of time: durations, links, stays, the present, facts, and what is held in place."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from math import ceil

from orchestrator.core.check.book import MINUTE, Book, fault, minutes
from orchestrator.core.models import PlannedTask, TaskKind, TaskLink, Violation, WindowClass


def durations(book: Book) -> Iterator[Violation]:
    """shortest / speed <= end - start <= longest / speed + stretched, for work and clean-downs not yet begun.

    The speed is that of the machine which the plan gives to work; in one that warm food can crowd, longest is the
    crowded one. A clean-down takes its time on any.
    """
    for task in book.plan.tasks:
        if task.end < task.start:
            yield fault("duration", f"{task.id} ends {book.clock(task.end)}, before it starts", task)
        if task.kind is TaskKind.STAY or not book.movable(task):
            continue
        length = task.end - task.start
        stretched = book.request.stretched.get(task.id, 0)
        shortest, longest = _at_speed(book, task)
        longest += stretched
        if not timedelta(minutes=shortest) <= length <= timedelta(minutes=longest):
            span = f"from {book.clock(task.start)} to {book.clock(task.end)}"
            says = f"{task.id} {span} lasts {minutes(length)} min; it needs {shortest} to {longest} min"
            yield fault("duration", says, task)


def _at_speed(book: Book, task: PlannedTask) -> tuple[int, int]:
    """Shortest and longest minutes of work where the plan has it."""
    machine = book.equipment.get(task.equipment) if task.equipment is not None else None
    if machine is None or task.kind is not TaskKind.WORK:
        return task.duration.shortest, task.duration.longest
    slowed = machine.heat.crowded if machine.heat is not None else 1.0
    longest = ceil(task.duration.longest * slowed / machine.speed - 1e-6)
    return ceil(task.duration.shortest / machine.speed - 1e-6), longest


def links(book: Book) -> Iterator[Violation]:
    """end(before) + least <= start <= end(before) + most."""
    for task in book.plan.tasks:
        if book.status(task) == "skipped":
            continue
        for link in task.links:
            yield from _link(book, task, link)


def _link(book: Book, task: PlannedTask, link: TaskLink) -> Iterator[Violation]:
    before = book.tasks.get(link.after)
    if before is None:
        if link.after not in book.actuals and book.movable(task):
            yield fault("link", f"{task.id} follows {link.after}, which is not in the plan", task, link.after)
        return
    if not book.counts(task, before):
        return
    gap, slack = task.start - before.end, book.slack(task, before)
    if gap < -slack:
        says = f"{_where(book, before, task)}: it may not start before the other has ended"
        yield fault("order", says, task, before)
    elif TaskKind.STAY in (task.kind, before.kind) and link.most == 0:
        if gap > slack and book.status(before) != "skipped":
            says = f"{_where(book, before, task)}: a stay joins its neighbours without a gap"
            yield fault("join", says, task, before)
    else:
        latest = None if link.most is None else before.end + timedelta(minutes=link.most)
        opens = before.end + timedelta(minutes=link.least)
        yield from _window(book, (task, before), instant=task.start, opens=opens, closes=latest, window=link.window)


def _where(book: Book, before: PlannedTask, task: PlannedTask) -> str:
    return f"{before.id} ends {book.clock(before.end)}, {task.id} starts {book.clock(task.start)}"


def _window(
    book: Book,
    pair: tuple[PlannedTask, ...],
    *,
    instant: datetime,
    opens: datetime,
    closes: datetime | None,
    window: WindowClass,
) -> Iterator[Violation]:
    """One window of a class: safety never, quality only when named, preference traded."""
    slack = book.slack(*pair)
    early, late = opens - instant, instant - (closes or instant)
    if window is WindowClass.PREFERENCE or max(early, late) <= slack:
        return
    side, by = ("too early", early) if early > slack else ("too late", late)
    allowed = opens if side == "too early" else closes or instant
    says = f"{pair[0].id} at {book.clock(instant)} is {minutes(by)} min {side} ({window} limit {book.clock(allowed)})"
    if window is WindowClass.SAFETY:
        # A maximum that has already passed is a fact: the engine holds the lot, no plan can mend it.
        if not (side == "too late" and allowed < book.request.now and not all(book.movable(t) for t in pair)):
            yield fault("safety window", says, *pair)
    elif not _named(book, pair, side, minutes(by)):
        yield fault("quality window", f"{says} and is not named among the plan's breaks", *pair)


def _named(book: Book, pair: tuple[PlannedTask, ...], side: str, by_min: int) -> bool:
    ids = {task.id for task in pair}
    margin = 0 if all(book.movable(task) for task in pair) else 1
    return any(
        named.side == side and abs(named.minutes - by_min) <= margin and named.window is WindowClass.QUALITY
        for named in book.plan.breaks
        if (named.task in ids and named.after in ids) or (len(pair) == 1 and (named.task in ids or named.after in ids))
    )


def stays(book: Book) -> Iterator[Violation]:
    """least <= stay <= most; it ends as its consumer starts, or lasts to the horizon when nobody takes it."""
    for task in book.plan.tasks:
        if task.kind is not TaskKind.STAY or book.status(task) in ("done", "skipped"):
            continue
        takers = [
            follower
            for follower in book.followers.get(task.id, ())
            if book.status(follower) != "skipped" and any(li.after == task.id and li.most == 0 for li in follower.links)
        ]
        if takers:
            yield from _taken(book, task, takers)
        else:
            yield from _left(book, task)


def _taken(book: Book, task: PlannedTask, takers: list[PlannedTask]) -> Iterator[Violation]:
    first = min(takers, key=lambda taker: taker.start)
    if not book.counts(task, first):
        return
    if abs(first.start - task.end) > book.slack(task, first):
        says = f"{task.id} ends {book.clock(task.end)} but {first.id} takes it at {book.clock(first.start)}"
        yield fault("join", says, task, first)
    if task.stay is None:
        yield fault("shape", f"{task.id} is a stay without bounds", task)
        return
    opens = task.start + timedelta(minutes=task.stay.least)
    closes = None if task.stay.most is None else task.start + timedelta(minutes=task.stay.most)
    # The one task is judged, but its start may be a fact: facts have seconds.
    yield from _window(book, (task,), instant=task.end, opens=opens, closes=closes, window=task.stay.window)


def _left(book: Book, task: PlannedTask) -> Iterator[Violation]:
    if task.lot in book.request.lost_lots:
        return
    most = None if task.stay is None else task.stay.most
    grace = book.slack(task)  # its start may be a fact
    spent = most is not None and task.end + grace >= task.start + timedelta(minutes=most)
    if task.end + grace >= book.plan.end or spent:
        return
    says = f"{task.id} is taken by nobody, yet leaves its place at {book.clock(task.end)}"
    yield fault("join", says, task)


def present(book: Book) -> Iterator[Violation]:
    """What has not begun may not begin in the past, and what is in hand may not have ended there."""
    limit = book.request.now - MINUTE  # the planner counts whole minutes
    for task in book.plan.tasks:
        # A stay begins with the end of the task that fills it, which is judged itself.
        if book.movable(task) and task.kind is not TaskKind.STAY and task.start <= limit:
            says = f"{task.id} has not begun, yet is placed at {book.clock(task.start)}, in the past"
            yield fault("present", says, task)
        if book.status(task) == "in hand" and task.end <= limit:
            yield fault("present", f"{task.id} is in hand, yet ends {book.clock(task.end)}, in the past", task)


def facts(book: Book) -> Iterator[Violation]:
    """Actual starts, ends and machines are unchanged, and nothing that happened is left out."""
    for actual in book.request.actuals:
        task = book.tasks.get(actual.task)
        if task is None:
            if actual.status != "skipped" and not _lot_lost(book, actual.task):
                yield fault("facts", f"{actual.task} is {actual.status}, yet missing from the plan", actual.task)
            continue
        if actual.status == "skipped":
            continue
        if abs(task.start - actual.start) > MINUTE:
            says = f"{task.id} began {book.clock(actual.start)}, yet stands at {book.clock(task.start)}"
            yield fault("facts", says, task)
        ends_known = actual.status == "done" or task.kind is not TaskKind.STAY
        if ends_known and abs(task.end - actual.end) > MINUTE:
            says = f"{task.id} ends {book.clock(actual.end)} in fact, yet {book.clock(task.end)} in the plan"
            yield fault("facts", says, task)
        if actual.equipment is not None and task.equipment != actual.equipment:
            yield fault("facts", f"{task.id} is on {actual.equipment}, yet the plan says {task.equipment}", task)


def _lot_lost(book: Book, task_id: str) -> bool:
    return any(task_id.startswith(f"{lot}.") for lot in (*book.request.lost_lots, *book.request.held_lots))


def held_in_place(book: Book) -> Iterator[Violation]:
    """A task held in place is where the plan before had it, unless the plan openly lets it go."""
    previous = book.request.previous
    for before in previous.tasks if previous is not None else ():
        # What has not begun by its instant can no longer be held there.
        if not before.held_in_place or before.id in book.actuals or before.start < book.request.now:
            continue
        if before.id in book.plan.let_go:
            continue
        task = book.tasks.get(before.id)
        if task is None:
            yield fault("held in place", f"{before.id} is held in place, yet gone", before)
        elif (task.start, task.equipment) != (before.start, before.equipment):
            says = f"{task.id} is held at {book.clock(before.start)}, yet moved to {book.clock(task.start)}"
            yield fault("held in place", says, task)


def breaks(book: Book) -> Iterator[Violation]:
    """Every break that the plan names is one, and none is of a safety window."""
    for named in book.plan.breaks:
        task, after = book.tasks.get(named.task), book.tasks.get(named.after)
        if named.window is WindowClass.SAFETY:
            yield fault("breaks", f"{named.task}: a safety window may not be among the breaks", named.task)
        elif task is None or after is None:
            yield fault("breaks", f"{named.task} after {named.after}: not in the plan", named.task, named.after)
        elif not any(abs(by - named.minutes) <= 1 for by in _misses(task, after, named.side)):
            says = f"{named.task} after {named.after} is not {named.minutes} min {named.side}"
            yield fault("breaks", says, named.task, named.after)


def _misses(task: PlannedTask, after: PlannedTask, side: str) -> Iterator[int]:
    """By how many minutes this pair misses its link, or a stay of the two its bounds."""
    for link in task.links:
        if link.after == after.id:
            gap = minutes(task.start - after.end)
            yield link.least - gap if side == "too early" else 0 if link.most is None else gap - link.most
    for stay in (task, after):
        if stay.stay is not None:
            length, most = minutes(stay.end - stay.start), stay.stay.most
            yield stay.stay.least - length if side == "too early" else 0 if most is None else length - most
