"""Rules of equipment: kind, load, capacity, one at a time, stopped."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime, timedelta
from math import floor

from orchestrator.core.check.book import EPSILON, Book, fault, minutes
from orchestrator.core.models import Equipment, PlannedTask, TaskKind, Violation


def right_machine(book: Book) -> Iterator[Violation]:
    """Each task that needs a machine has one of the right kind, loaded between its least and its capacity."""
    for task in book.plan.tasks:
        if not book.movable(task):
            continue
        machine = book.equipment.get(task.equipment) if task.equipment is not None else None
        if machine is None:
            surplus = task.kind is TaskKind.STAY and task.equipment is None and _taken_by_nobody(book, task)
            if not surplus and (task.equipment_kind is not None or task.equipment is not None):
                says = f"{task.id} needs a {task.equipment_kind} and has {task.equipment or 'none'}"
                yield fault("equipment kind", says, task)
            continue
        if task.kind is not TaskKind.CLEAN and machine.kind != task.equipment_kind:
            says = f"{task.id} needs a {task.equipment_kind}; {machine.id} is a {machine.kind}"
            yield fault("equipment kind", says, task)
        yield from _load(task, machine)


def _taken_by_nobody(book: Book, task: PlannedTask) -> bool:
    """What is made beyond the pegs may be left without a place where there is no room: food for which
    orders wait comes first, and a kitchen with a full freezer still needs a plan."""
    return task.id.endswith(".rest") and not book.followers.get(task.id)


def _load(task: PlannedTask, machine: Equipment) -> Iterator[Violation]:
    if task.kind is TaskKind.CLEAN or machine.capacity is None:
        return
    if task.load > machine.capacity.value + EPSILON:
        yield fault("load", f"{task.id} loads {task.load:g}; {machine.id} takes {machine.capacity.value:g}", task)
    if machine.least is not None and task.load < machine.least.value - EPSILON:
        yield fault("load", f"{task.id} loads {task.load:g}; {machine.id} needs {machine.least.value:g}", task)


def capacity(book: Book) -> Iterator[Violation]:
    """At every instant: one task on a machine, or loads that sum to no more than its shared capacity."""
    on: dict[str, list[PlannedTask]] = defaultdict(list)
    for task in book.running():
        if task.equipment is not None and task.end > task.start:
            on[task.equipment].append(task)
    for machine_id, tasks in sorted(on.items()):
        machine = next((m for m in book.kitchen.equipment if m.id == machine_id), None)
        if machine is None:
            yield fault("equipment kind", f"there is no {machine_id}", *tasks)
        elif machine.shared and machine.capacity is not None:
            yield from _shared(book, machine, machine.capacity.value, tasks)
        else:
            yield from _unary(book, machine, tasks)


def _unary(book: Book, machine: Equipment, tasks: list[PlannedTask]) -> Iterator[Violation]:
    tasks = sorted(tasks, key=lambda task: task.start)
    for index, first in enumerate(tasks):
        for second in tasks[index + 1 :]:
            if second.start >= first.end:
                break
            overlap = min(first.end, second.end) - second.start
            if book.counts(first, second) and overlap > book.slack(first, second):
                says = f"{first.id} and {second.id} are both on {machine.id} from {book.clock(second.start)}"
                yield fault("double booked", f"{says} for {minutes(overlap)} min", first, second)


def _shared(book: Book, machine: Equipment, most: float, tasks: list[PlannedTask]) -> Iterator[Violation]:
    reported: set[frozenset[str]] = set()
    arrivals = {_whole_minute(one.start) for one in book.request.kept if one.equipment == machine.id and one.sure}
    for instant in sorted({*(task.start for task in tasks), *arrivals}):
        inside = [task for task in tasks if task.start <= instant < task.end]
        # Someone leaving within the minute is on the way out: facts have seconds, plans whole minutes.
        staying = [task for task in inside if task.end - instant > book.slack(task)]
        load = sum(task.load for task in staying) + _left_over(book, machine, instant)
        key = frozenset(task.id for task in staying)
        if load > most + EPSILON and book.counts(*staying) and key not in reported:
            reported.add(key)
            says = f"{machine.id} would hold {load:g} of {most:g} at {book.clock(instant)}"
            yield fault("capacity", says, *staying)


def _left_over(book: Book, machine: Equipment, instant: datetime) -> float:
    """Room that by-products take: whole minutes inside it, as the planner counts them, rounded down to hundredths."""
    kept = (one for one in book.request.kept if one.equipment == machine.id and one.sure)
    inside = (one for one in kept if one.start <= instant and instant + timedelta(minutes=1) <= one.end)
    return sum(floor(one.room * 100 + 1e-6) / 100 for one in inside)


def _whole_minute(instant: datetime) -> datetime:
    """It, or the next whole minute."""
    whole = instant.replace(second=0, microsecond=0)
    return whole if whole == instant else whole + timedelta(minutes=1)


def stopped(book: Book) -> Iterator[Violation]:
    """No task that can be moved is on a machine while it is stopped, by a fault or for maintenance.

    It may be cleaned meanwhile.
    """
    for task in book.plan.tasks:
        passes_through = task.kind is TaskKind.STAY and task.end == task.start  # it was never put there
        if task.cleans or passes_through or not book.movable(task):
            continue
        for stop in book.request.stops:
            if stop.equipment == task.equipment and task.start < stop.end and stop.start < task.end:
                span = f"from {book.clock(stop.start)} to {book.clock(stop.end)}"
                yield fault("stopped", f"{task.id} is on {stop.equipment}, which is stopped {span}", task)
        machine = book.equipment.get(task.equipment) if task.equipment is not None else None
        for planned in machine.maintenance if machine is not None else ():
            if task.start < planned.end and planned.start < task.end:
                span = f"from {book.clock(planned.start)} to {book.clock(planned.end)}"
                yield fault("stopped", f"{task.id} is on {task.equipment}, in maintenance {span}", task)
