"""Every small damage that can be done to a valid plan: in its schedule, and in the plan as it is written down."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import get_args

from orchestrator.core.models import Plan, PlannedTask, TaskKind
from orchestrator.planner.plan import Workbench
from orchestrator.planner.problem import CleanDown, Place, Problem, Schedule, Upkeep
from tests.planner.verifier import faults

SHIFTS_MIN = (-600, -45, -1, 1, 45, 600)
UPKEEP: tuple[Upkeep, ...] = get_args(Upkeep)
LENGTHS_MIN = (-600, -15, -1, 1, 15, 600)


@dataclass(frozen=True, slots=True)
class Mutant:
    """A schedule with one thing changed."""

    kind: str
    what: str
    schedule: Schedule


@dataclass(slots=True)
class Verdict:
    """What became of the mutants of one plan."""

    tried: Counter[str] = field(default_factory=Counter)
    caught: Counter[str] = field(default_factory=Counter)
    """By the checker."""
    sound: Counter[str] = field(default_factory=Counter)
    """They break no rule, as the checker and an independent judge agree."""
    escaped: list[str] = field(default_factory=list)
    """They break a rule according to the judge, and the checker says nothing."""

    def __str__(self) -> str:
        """In lines, for reports."""
        rows = [f"{kind:28}{n:6}{self.caught[kind]:8}{self.sound[kind]:7}" for kind, n in sorted(self.tried.items())]
        total = f"{'in all':28}{self.tried.total():6}{self.caught.total():8}{self.sound.total():7}"
        return "\n".join([f"{'mutants':28}{'tried':>6}{'caught':>8}{'sound':>7}", *rows, total, *self.escaped])


def judged(bench: Workbench, found: Iterable[Mutant]) -> Verdict:
    """Each mutant as a plan through the checker; what passes goes before a judge that shares no code with it.

    The judge counts minute by minute what the problem allows. Work of other than its usual length is no break while
    it is within what the recipe gives.
    """
    verdict = Verdict()
    for mutant in found:
        verdict.tried[mutant.kind] += 1
        if bench.faults(mutant.schedule):
            verdict.caught[mutant.kind] += 1
        elif broken := [fault for fault in faults(bench.problem, mutant.schedule) if not _within(bench, fault)]:
            verdict.escaped.append(f"{mutant.kind}: {mutant.what}: {broken[0]}")
        else:
            verdict.sound[mutant.kind] += 1
    return verdict


def _within(bench: Workbench, fault: str) -> bool:
    """Whether a fault is none of the plan's.

    A length that the recipe allows on a machine of usual speed; a minute's grace of a fact; a pre-cool that is sooner
    than the planner would put it, while the machine stays cold for as long as the kitchen says.
    """
    if "a pre-cool not right before" in fault or "a needless pre-cool before" in fault:
        return True
    name, _, length = fault.partition(": lasts ")
    jobs = dict(zip((job.id for job in bench.problem.jobs), bench.problem.jobs, strict=True))
    if length:
        ranges = {job.id: spec.duration for job, spec in zip(bench.problem.jobs, bench.demand.specs, strict=True)}
        return ranges[name].shortest <= int(length) <= ranges[name].longest
    _, _, before = fault.partition(": -1 min after ")
    return bool(before) and jobs[before].fixed is not None


def mutants(problem: Problem, schedule: Schedule) -> Iterator[Mutant]:
    """One change at a time, of every job that can still be moved and of every clean-down and other upkeep."""
    for index, (job, place) in enumerate(zip(problem.jobs, schedule.places, strict=True)):
        if place is None or job.fixed is not None:
            continue
        for kind, changed in _of_place(problem, index, place):
            yield Mutant(kind, f"{job.id}: {place} → {changed}", _put(schedule, {index: changed}))
        for kind, changed in _of_heat(problem, schedule, index, place):
            kept = _kept_from(problem, schedule, index, changed.end)
            yield Mutant(kind, f"{job.id}: {place} → {changed}", _put(schedule, {index: changed, **kept}))
    yield from _swapped(problem, schedule)
    for number, clean in enumerate(schedule.cleans):
        for kind, changed in _of_clean(problem, clean):
            others = (*schedule.cleans[:number], *changed, *schedule.cleans[number + 1 :])
            yield Mutant(kind, f"{clean} → {changed}", replace(schedule, cleans=others))


def _put(schedule: Schedule, changed: dict[int, Place]) -> Schedule:
    return replace(schedule, places=tuple(changed.get(i, place) for i, place in enumerate(schedule.places)))


def _of_place(problem: Problem, index: int, place: Place) -> Iterator[tuple[str, Place]]:
    for minutes in SHIFTS_MIN:
        if place.start + minutes >= 0:
            yield "moved", replace(place, start=place.start + minutes, end=place.end + minutes)
    for end in dict.fromkeys(max(place.start, place.end + minutes) for minutes in LENGTHS_MIN):
        if end != place.end:
            yield "shortened" if end < place.end else "lengthened", replace(place, end=end)
    for machine in range(len(problem.machines)):
        if place.machine is not None and machine != place.machine:
            yield "other machine", replace(place, machine=machine)
    for portion, there in enumerate(place.workers):
        for hand in range(len(there)):
            for worker in range(len(problem.workers)):
                if worker != there[hand]:
                    hands = tuple(worker if n == hand else w for n, w in enumerate(there))
                    workers = tuple(hands if n == portion else w for n, w in enumerate(place.workers))
                    yield "other person", replace(place, workers=workers)
        if len(there) > 1:
            workers = tuple(there[:1] if n == portion else w for n, w in enumerate(place.workers))
            yield "a hand less", replace(place, workers=workers)


def _of_heat(problem: Problem, schedule: Schedule, index: int, place: Place) -> Iterator[tuple[str, Place]]:
    """What is frozen goes in with other warm food, and has the minutes that it has alone, or in a crowd."""
    job = problem.jobs[index]
    if job.stay or place.machine is None or problem.machines[place.machine].alone is None:
        return
    on = job.machines.index(place.machine)
    usual = job.lengths[on] if job.lengths else job.shortest
    for minutes in dict.fromkeys((usual, *job.crowded[on : on + 1], place.end - place.start - 1)):
        if place.start + minutes != place.end:
            yield "other pace", replace(place, end=place.start + minutes)
        for number, other in enumerate(schedule.places):
            beside = other is not None and other.machine == place.machine and not problem.jobs[number].stay
            if other is not None and beside and number != index and other.start != place.start:
                yield "brought together", replace(place, start=other.start, end=other.start + minutes)


def _kept_from(problem: Problem, schedule: Schedule, index: int, start: int) -> dict[int, Place]:
    """Stays that work fills begin when it ends: else every other pace would be caught by that alone."""
    return {
        number: replace(place, start=start)
        for number, (job, place) in enumerate(zip(problem.jobs, schedule.places, strict=True))
        if job.stay and place is not None and any(link.after == index and link.most == 0 for link in job.after)
    }


def _swapped(problem: Problem, schedule: Schedule) -> Iterator[Mutant]:
    """Two jobs of one machine, or with the same people, trade their starts; each keeps its own length."""
    movable = [i for i, job in enumerate(problem.jobs) if job.fixed is None and schedule.places[i] is not None]
    for n, one in enumerate(movable):
        for other in movable[n + 1 :]:
            a, b = schedule.places[one], schedule.places[other]
            assert a is not None
            assert b is not None
            together = a.machine is not None and a.machine == b.machine
            if a.start == b.start or not (together or (a.workers and a.workers == b.workers)):
                continue
            changed = {
                one: replace(a, start=b.start, end=b.start + a.end - a.start),
                other: replace(b, start=a.start, end=a.start + b.end - b.start),
            }
            what = f"{problem.jobs[one].id} and {problem.jobs[other].id} trade starts"
            yield Mutant("swapped", what, _put(schedule, changed))


def _of_clean(problem: Problem, clean: CleanDown) -> Iterator[tuple[str, tuple[CleanDown, ...]]]:
    yield "clean-down dropped", ()
    yield "clean-down doubled", (clean, clean)
    for minutes in SHIFTS_MIN:
        if clean.start + minutes >= 0:
            yield "clean-down moved", (replace(clean, start=clean.start + minutes, end=clean.end + minutes),)
    yield "clean-down shortened", (replace(clean, end=clean.end - 1),)
    for kind in UPKEEP:
        if kind != clean.kind:
            yield "clean-down of another kind", (replace(clean, kind=kind),)
    for worker in range(len(problem.workers) if clean.workers else 0):
        if (worker,) != clean.workers:
            yield "clean-down by another", (replace(clean, workers=(worker,)),)


def damaged(plan: Plan) -> Iterator[tuple[str, Plan]]:
    """Damage that no schedule can express; every one of these breaks a rule of what a plan must say."""
    kinds = {task.id: task.kind for task in plan.tasks}
    for number, task in enumerate(plan.tasks):

        def put(*changed: PlannedTask, number: int = number) -> Plan:
            return plan.model_copy(update={"tasks": (*plan.tasks[:number], *changed, *plan.tasks[number + 1 :])})

        yield f"{task.id} dropped", put()
        yield f"{task.id} twice", put(task, task)
        for link in task.links:
            if TaskKind.CLEAN in (task.kind, kinds.get(link.after)):
                continue  # what lies between runs is judged by its times, not by its links
            links = tuple(other for other in task.links if other != link)
            yield f"{task.id}: link to {link.after} dropped", put(task.model_copy(update={"links": links}))
        for n, span in enumerate(task.spans):
            shorter = span.model_copy(update={"end": span.end - timedelta(minutes=1)})
            spans = tuple(shorter if m == n else other for m, other in enumerate(task.spans))
            yield f"{task.id}: hands leave a minute early", put(task.model_copy(update={"spans": spans}))
            spans = (*task.spans[:n], *task.spans[n + 1 :])
            yield f"{task.id}: nobody for a part", put(task.model_copy(update={"spans": spans}))
    for peg in plan.pegs:
        yield f"peg of {peg.lot} dropped", plan.model_copy(update={"pegs": tuple(p for p in plan.pegs if p != peg)})
    for batch in plan.batches:
        left = tuple(b for b in plan.batches if b != batch)
        yield f"batch {batch.lot} dropped", plan.model_copy(update={"batches": left})
    for outlook in plan.outlooks:
        left_out = tuple(o for o in plan.outlooks if o != outlook)
        yield f"outlook of {outlook.order} dropped", plan.model_copy(update={"outlooks": left_out})
