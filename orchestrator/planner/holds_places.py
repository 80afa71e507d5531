"""What moved work would break in its places: machines, stops, clean-downs, stores and people."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from orchestrator.core.models import WindowClass
from orchestrator.core.models.explanation import HoldKind
from orchestrator.planner.holds_heat import too_warm
from orchestrator.planner.problem import CleanDown, Place, Problem, Schedule, minutes_on
from orchestrator.planner.shift import Movers, stays_round
from orchestrator.planner.structure import portion_span, structure

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Found:
    """A rule that a move breaks; by indices."""

    kind: HoldKind
    job: int
    """Whom it holds; -1 for a clean-down, which `clean` names."""
    others: tuple[int, ...] = ()
    """Jobs that stand in the way."""
    stay: int | None = None
    machine: int | None = None
    workers: tuple[int, ...] = ()
    clean: int | None = None
    """The clean-down that stands in the way, or that is held, by its position."""
    limit: int = 0
    """Minutes of the window or link."""
    window: WindowClass = WindowClass.QUALITY
    minute: int = 0
    """From when it may be, for a release."""
    load: int = 0
    """Hundredths of warm food that would be together, for heat."""

    @property
    def key(self) -> tuple[object, ...]:
        """What is the same before and after a move."""
        return self.kind, self.job, self.others, self.stay, self.machine, self.clean


def places_broken(problem: Problem, before: Schedule, movers: Movers, trial: Schedule) -> tuple[list[Found], Schedule]:
    """Machines and people that are not to be had, and the trial on those of the same kind and skill that are."""
    found: list[Found] = []
    settled = trial
    for job in sorted(movers.jobs):
        if problem.jobs[job].fixed is None and settled.places[job] is not None:
            held, settled = _on_a_machine(problem, settled, job)
            lacking, settled = _with_hands(problem, settled, job)
            found += [*held, *lacking]
    for stay in stays_round(problem, movers.jobs):
        if stay not in structure(problem).rests:
            found += _store(problem, before, settled, stay, sorted(movers.jobs))
    for clean in sorted(movers.cleans):
        found += _cleaning(problem, settled, clean)
    return found, settled


def _placed(schedule: Schedule, job: int, place: Place) -> Schedule:
    return replace(schedule, places=tuple(place if i == job else p for i, p in enumerate(schedule.places)))


# Machines


def _on_a_machine(problem: Problem, trial: Schedule, job: int) -> tuple[list[Found], Schedule]:
    """On its own machine, else on another of the kind; what is in the way on its own where none is free."""
    place = trial.places[job]
    assert place is not None
    if place.machine is None:
        return [], trial
    held = list(_taken(problem, trial, job, place))
    if not held:
        return [], trial
    for machine in problem.jobs[job].machines:
        other = replace(place, machine=machine)
        # Elsewhere the order of runs may need a clean-down: that would be another plan, not the same one moved.
        kept = problem.machines[machine].kept and problem.jobs[job].family is not None
        as_fast = minutes_on(problem.jobs[job], machine) == place.end - place.start
        free = machine != place.machine and as_fast and not kept
        if free and not list(_taken(problem, trial, job, other)):
            return [], _placed(trial, job, other)
    return held, trial


def _taken(problem: Problem, trial: Schedule, job: int, place: Place) -> Iterator[Found]:
    assert place.machine is not None
    made, what = problem.machines[place.machine], problem.jobs[job]
    if place.end == place.start:
        return
    if any(a < place.end and place.start < b for a, b in made.stops):
        yield Found(HoldKind.STOPPED, job, machine=place.machine)
    there = _there(trial, place.machine, (place.start, place.end), without=job)
    if not made.shared and there:
        yield Found(HoldKind.MACHINE, job, others=tuple(there), machine=place.machine)
    elif made.shared and made.capacity is not None:
        full = _fullest(problem, trial, place.machine, (place.start, place.end), there)
        if full + what.load > made.capacity:
            yield Found(HoldKind.MACHINE, job, others=tuple(there), machine=place.machine)
    if (warm := too_warm(problem, _placed(trial, job, place), job, place.machine)) is not None:
        yield Found(HoldKind.HEAT, job, others=warm[1], machine=place.machine, load=warm[0])
    if what.family is not None:
        for position, clean in enumerate(trial.cleans):
            if clean.machine == place.machine and clean.start < place.end and place.start < clean.end:
                yield Found(HoldKind.CLEAN, job, machine=place.machine, clean=position)


def _there(trial: Schedule, machine: int, span: Span, *, without: int) -> list[int]:
    return [
        index
        for index, place in enumerate(trial.places)
        if place is not None
        and index != without
        and place.machine == machine
        and place.start < span[1]
        and span[0] < place.end
    ]


def _fullest(problem: Problem, trial: Schedule, machine: int, span: Span, there: list[int]) -> int:
    """The most that others load on a machine at any instant of a span."""
    places = [(problem.jobs[job].load, place) for job in there if (place := trial.places[job]) is not None]
    uses = [*((place.start, place.end, load) for load, place in places), *problem.machines[machine].taken]
    instants = {span[0], *(start for start, _, _ in uses if span[0] <= start < span[1])}
    return max(sum(load for start, end, load in uses if start <= at < end) for at in instants)


def _store(problem: Problem, before: Schedule, trial: Schedule, stay: int, jobs: list[int]) -> Iterator[Found]:
    """Room for food that comes sooner or goes later, in the minutes in which it was not there before."""
    place, known = trial.places[stay], before.places[stay]
    if place is None or known is None or place.machine is None:
        return
    made = problem.machines[place.machine]
    for span in ((place.start, min(known.start, place.end)), (max(known.end, place.start), place.end)):
        if span[1] <= span[0]:
            continue
        there = _there(trial, place.machine, span, without=stay)
        load = problem.jobs[stay].load
        full = made.shared and made.capacity is not None
        if full and _fullest(problem, trial, place.machine, span, there) + load > (made.capacity or 0):
            yield Found(HoldKind.STORE, jobs[0], others=tuple(there), stay=stay, machine=place.machine)
        elif not made.shared and there:
            yield Found(HoldKind.MACHINE, jobs[0], others=tuple(there), stay=stay, machine=place.machine)
        if any(a < span[1] and span[0] < b for a, b in made.stops):
            yield Found(HoldKind.STOPPED, jobs[0], stay=stay, machine=place.machine)


# People


def _with_hands(problem: Problem, trial: Schedule, job: int) -> tuple[list[Found], Schedule]:
    """With its own people, else with others of the skill; who is lacking where there are too few."""
    made, place = problem.jobs[job], trial.places[job]
    assert place is not None
    chosen: list[tuple[int, ...]] = []
    for portion, mine in enumerate(place.workers):
        span = portion_span(made, portion, place)
        if span[1] <= span[0]:
            chosen.append(mine)
            continue
        ranked = (*mine, *(w for w in made.workers if w not in mine))
        free = [w for w in ranked if _there_then(problem, w, span) and not _busy(problem, trial, w, span, job=job)]
        if len(free) < len(mine):
            return [_lacking(problem, trial, job, mine, span)], trial
        chosen.append(tuple(free[: len(mine)]))
    return [], _placed(trial, job, replace(place, workers=tuple(chosen)))


def _lacking(problem: Problem, trial: Schedule, job: int, mine: tuple[int, ...], span: Span) -> Found:
    there = [w for w in problem.jobs[job].workers if _there_then(problem, w, span)]
    if len(there) < len(mine):
        return Found(HoldKind.SHIFT, job, workers=mine)
    tasks = tuple(dict.fromkeys(t for w in there for t in _busy(problem, trial, w, span, job=job) if t >= 0))
    cleans = [-t - 1 for w in there for t in _busy(problem, trial, w, span, job=job) if t < 0]
    return Found(HoldKind.PERSON, job, others=tasks, workers=tuple(there), clean=cleans[0] if cleans else None)


def _there_then(problem: Problem, worker: int, span: Span) -> bool:
    return any(a <= span[0] and span[1] <= b for a, b in problem.workers[worker].free)


def _busy(problem: Problem, trial: Schedule, worker: int, span: Span, *, job: int = -1, clean: int = -1) -> list[int]:
    """What somebody does in a span: jobs, and clean-downs as -1 less their position."""
    found = [
        -1 - position
        for position, other in enumerate(trial.cleans)
        if position != clean and worker in other.workers and other.start < span[1] and span[0] < other.end
    ]
    for index, place in enumerate(trial.places):
        if place is None or index == job or not any(worker in who for who in place.workers):
            continue
        for portion, who in enumerate(place.workers):
            start, end = portion_span(problem.jobs[index], portion, place)
            if worker in who and start < span[1] and span[0] < end:
                found.append(index)
    return found


# Clean-downs


def _cleaning(problem: Problem, trial: Schedule, position: int) -> Iterator[Found]:
    """A clean-down lies between two runs, and somebody who may do it is there for all of it."""
    clean: CleanDown = trial.cleans[position]
    span = (clean.start, clean.end)
    if clean.start < problem.now:
        yield Found(HoldKind.NOW, -1, clean=position)
    there = _there(trial, clean.machine, span, without=-1)
    if there:
        yield Found(HoldKind.FOLLOWS, -1, others=tuple(there), machine=clean.machine, clean=position)
    cleaners = problem.machines[clean.machine].able(clean.kind)
    if not cleaners:
        return
    on_shift = [w for w in cleaners if _there_then(problem, w, span)]
    busy = {w: _busy(problem, trial, w, span, clean=position) for w in on_shift}
    if not on_shift:
        yield Found(HoldKind.SHIFT, -1, workers=clean.workers, clean=position)
    elif all(busy.values()):
        tasks = tuple(dict.fromkeys(t for what in busy.values() for t in what if t >= 0))
        yield Found(HoldKind.PERSON, -1, others=tasks, workers=tuple(on_shift), clean=position)
