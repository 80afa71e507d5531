"""Rules of upkeep by the clock: pre-cools, day-end cleans, hygiene cleans at their longest interval."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from orchestrator.core.check.book import MINUTE, Book, fault, minutes
from orchestrator.core.models import CrewMember, Equipment, PlannedTask, Upkeep, Violation
from orchestrator.core.models.equipment import DayEnd


def precools(book: Book) -> Iterator[Violation]:
    """A run starts no longer than ``keeps`` after the machine last ran or was pre-cooled."""
    for machine in book.kitchen.equipment:
        if machine.precool is None:
            continue
        runs, _ = book.on_machine(machine)
        cooled = [task for task in book.upkeep_of(machine) if task.upkeep is Upkeep.PRECOOL]
        keeps = timedelta(minutes=machine.precool.keeps)
        for run in runs:
            before = [
                t for t in (*runs, *cooled) if t.id != run.id and t.start < run.start and t.end <= run.start + MINUTE
            ]
            last = max(before, key=lambda task: task.end, default=None)
            if book.movable(run) and (last is None or run.start - last.end > keeps + book.slack(run, last)):
                since = "has not run" if last is None else f"last ran or was pre-cooled until {book.clock(last.end)}"
                says = f"{run.id} starts {book.clock(run.start)} on {machine.id}, which {since}: it must be cold"
                yield fault("pre-cool", says, run)


def day_ends(book: Book) -> Iterator[Violation]:
    """After the last run of a day comes the day-end clean, over before the last who can do it go home.

    A run belongs to the day on which it starts. After runs that have all happened it is asked for as long as somebody
    is there who can do it.
    """
    for machine in book.kitchen.equipment:
        if machine.day_end is None:
            continue
        by_day: dict[date, list[PlannedTask]] = defaultdict(list)
        for run in book.on_machine(machine)[0]:
            by_day[book.kitchen.local(run.start).date()].append(run)
        for day, runs in sorted(by_day.items()):
            yield from _day_end(book, machine, machine.day_end, day, runs)


def _day_end(book: Book, machine: Equipment, asked: DayEnd, day: date, runs: list[PlannedTask]) -> Iterator[Violation]:
    last = max(runs, key=lambda run: run.end)
    close = _goes_home(book, asked.skill, day)
    cleans = [
        task
        for task in book.upkeep_of(machine)
        if task.upkeep is Upkeep.DAY_END and task.start >= last.end - book.slack(task, last)
    ]
    if any(
        book.kitchen.local(clean.start).date() == day and (clean.end <= close or not book.movable(clean))
        for clean in cleans
    ):
        return
    if book.movable(last) or _somebody_can(book, asked, max(last.end, book.request.now), close):
        says = f"{machine.id} has no day-end clean after {last.id} on {day:%a %d %b} before {book.clock(close)}"
        yield fault("day-end clean", says, last)


def _goes_home(book: Book, skill: str, day: date) -> datetime:
    """When the last who can do it go home on a day, at midnight at the latest."""
    shifts = (s for member in book.kitchen.crew if skill in member.skills for s in member.shifts)
    ends = [shift.end for shift in shifts if book.kitchen.local(shift.start).date() == day]
    zone = book.kitchen.local(book.kitchen.planning_start).tzinfo
    midnight = datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone)
    return min(midnight, max(ends, default=datetime.combine(day, time(0), tzinfo=zone)))


def _somebody_can(book: Book, asked: DayEnd, since: datetime, close: datetime) -> bool:
    """Whether anybody with the skill still has the time, less breaks and what they have begun.

    Two minutes more than it takes: facts have seconds, plans whole minutes.
    """
    length = timedelta(minutes=asked.minutes + 2)
    members = (member for member in book.kitchen.crew if asked.skill in member.skills)
    return any(end - start >= length for member in members for start, end in _free(book, member, since, close))


def _free(book: Book, member: CrewMember, since: datetime, close: datetime) -> Iterator[tuple[datetime, datetime]]:
    busy = [(pause.start, pause.end) for shift in member.shifts for pause in shift.breaks]
    for task in book.plan.tasks:
        if not book.movable(task) or task.held_in_place:
            busy += [(span.start, span.end) for span in task.spans if member.id in span.crew]
    for shift in member.shifts:
        at, end = max(shift.start, since), min(shift.end, close)
        for start, until in sorted(busy):
            if start < end and until > at:
                yield at, start
                at = max(at, until)
        yield at, end


def linked(book: Book) -> Iterator[Violation]:
    """What is done to a machine follows what ran on it before, and the run after it follows that.

    Links are what people are held to: a run without one could be begun on a machine that is not ready. Work that has
    begun is no more held to anything, and plans that do not yet name what is done are judged by its times alone.
    """
    for machine in book.kitchen.equipment:
        runs, _ = book.on_machine(machine)
        done = [task for task in book.upkeep_of(machine) if task.upkeep is not None and book.movable(task)]
        for task in done:
            after = min((run for run in runs if run.start >= task.end), key=lambda run: run.start, default=None)
            if after is not None and book.movable(after) and all(link.after != task.id for link in after.links):
                says = f"{after.id} does not wait for {task.id}, which gets {machine.id} ready for it"
                yield fault("upkeep", says, after, task)
            last = max((run for run in runs if run.end <= task.start), key=lambda run: run.end, default=None)
            if last is not None and book.movable(last) and not _comes_after(task, last, done):
                says = f"{task.id} does not wait for {last.id}, which is on {machine.id} before it"
                yield fault("upkeep", says, task, last)


def _comes_after(task: PlannedTask, run: PlannedTask, done: list[PlannedTask]) -> bool:
    """Whether a task has a link to a run, or to upkeep that has."""
    known = {other.id: other for other in done}
    queue, seen = [task], {task.id}
    while queue:
        for link in queue.pop().links:
            if link.after == run.id:
                return True
            if link.after in known and link.after not in seen:
                seen.add(link.after)
                queue.append(known[link.after])
    return False


def hygiene(book: Book) -> Iterator[Violation]:
    """end − u <= every, where u is the start of the first run since the last full, hygiene or day-end clean.

    A run that alone lasts longer begins on a machine that is clean.

    Source: FDA Food Code 2022, 4-602.11(C), with the exceptions of (D): see `Cleaning.every`.
    """
    for machine in book.kitchen.equipment:
        every = machine.cleaning.every if machine.cleaning is not None else None
        if every is None:
            continue
        runs, _ = book.on_machine(machine)
        thorough = [task for task in book.upkeep_of(machine) if _is_thorough(machine, task)]
        for run in runs:
            since = max(
                (c.start for c in thorough if c.start <= run.start), default=book.plan.start - timedelta(days=99)
            )
            first = min((other for other in runs if other.start >= since - MINUTE), key=lambda other: other.start)
            allowed = max(timedelta(minutes=every), run.end - run.start) + book.slack(run, first)
            if book.movable(run) and run.end - first.start > allowed:
                used = minutes(run.end - first.start)
                says = (
                    f"{machine.id} would be in use for {used} min from {first.id} to {run.id}, without a thorough clean"
                )
                yield fault("hygiene clean", says, run)


def _is_thorough(machine: Equipment, task: PlannedTask) -> bool:
    if task.upkeep is None:
        return machine.cleaning is not None and task.duration.usual >= machine.cleaning.full
    return task.upkeep in (Upkeep.FULL, Upkeep.HYGIENE, Upkeep.DAY_END)
