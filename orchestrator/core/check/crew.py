"""Rules of people: skill, shift, breaks, one thing at a time, enough hands, the attended portions."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime, timedelta

from orchestrator.core.check.book import Book, fault
from orchestrator.core.ids import CrewId
from orchestrator.core.models import AttendedSpan, CrewMember, PlannedTask, Violation


def portions(book: Book) -> Iterator[Violation]:
    """The spans of a task are its attended portions, no more and no less, with as many hands as asked."""
    for task in book.plan.tasks:
        if not book.movable(task):
            continue
        wanted = sorted(_attended(task))
        given = sorted((span.start, span.end) for span in task.spans)
        if wanted != given:
            says = f"{task.id} needs hands {_words(book, wanted)}, but has them {_words(book, given)}"
            yield fault("attended", says, task)
        for span in task.spans:
            if len(set(span.crew)) != task.hands or len(span.crew) != task.hands:
                says = f"{task.id} from {book.clock(span.start)} needs {task.hands} hands and has {len(set(span.crew))}"
                yield fault("hands", says, task)


def _attended(task: PlannedTask) -> Iterator[tuple[datetime, datetime]]:
    """From when to when hands are needed; portions of no length need nobody."""
    for portion in task.attended:
        length = timedelta(minutes=portion.minutes or 0)
        if portion.when == "throughout":
            span = (task.start, task.end)
        elif portion.when == "start":
            span = (task.start, min(task.start + length, task.end))
        else:
            span = (max(task.end - length, task.start), task.end)
        if span[1] > span[0]:
            yield span


def _words(book: Book, spans: list[tuple[datetime, datetime]]) -> str:
    return " and ".join(f"{book.clock(start)} to {book.clock(end)}" for start, end in spans) or "never"


def presence(book: Book) -> Iterator[Violation]:
    """Whoever is planned has the skill, is on shift for the whole span, and has no break in it."""
    for task in book.plan.tasks:
        if not book.movable(task):
            continue
        for span in task.spans:
            for who in span.crew:
                yield from _present(book, task, span, who)


def _present(book: Book, task: PlannedTask, span: AttendedSpan, who: CrewId) -> Iterator[Violation]:
    member = book.crew.get(who)
    if member is None:
        yield fault("crew", f"{task.id}: there is no {who} in the crew", task)
        return
    if task.skill is not None and task.skill not in member.skills:
        yield fault("skill", f"{task.id} needs the skill {task.skill}, which {who} has not", task)
    if not _on_shift(member, span):
        yield fault("shift", f"{_when(book, task, span, who)}, outside any shift", task)
    elif _in_break(member, span):
        yield fault("break", f"{_when(book, task, span, who)}, across a break", task)


def _when(book: Book, task: PlannedTask, span: AttendedSpan, who: CrewId) -> str:
    return f"{task.id} needs {who} from {book.clock(span.start)} to {book.clock(span.end)}"


def _on_shift(member: CrewMember, span: AttendedSpan) -> bool:
    """Whether shifts cover the whole span; of two that touch, the second goes on where the first ends."""
    covered = span.start
    for shift in sorted(member.shifts, key=lambda s: s.start):
        if shift.start <= covered:
            covered = max(covered, shift.end)
    return covered >= span.end


def _in_break(member: CrewMember, span: AttendedSpan) -> bool:
    pauses = (pause for shift in member.shifts for pause in shift.breaks)
    return any(span.start < pause.end and pause.start < span.end for pause in pauses)


def one_thing_at_a_time(book: Book) -> Iterator[Violation]:
    """Nobody attends two tasks at once."""
    busy: dict[CrewId, list[tuple[AttendedSpan, PlannedTask]]] = defaultdict(list)
    for task in book.running():
        # Hands of a task already ended are free again, whatever was planned.
        if book.status(task) in ("done", "skipped"):
            continue
        for span in task.spans:
            for who in span.crew:
                busy[who].append((span, task))
    for who, spans in sorted(busy.items()):
        spans.sort(key=lambda pair: (pair[0].start, pair[1].id))
        for index, (span, task) in enumerate(spans):
            for other, second in spans[index + 1 :]:
                if other.start >= span.end:
                    break
                overlap = min(span.end, other.end) - other.start
                if second.id != task.id and book.counts(task, second) and overlap > book.slack(task, second):
                    says = f"{who} would be at {task.id} and {second.id} at once, from {book.clock(other.start)}"
                    yield fault("two things at once", says, task, second)
