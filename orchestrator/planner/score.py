"""What a schedule is worth, counted without the solver: four goals, each settled before the next."""

from dataclasses import dataclass

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Job, Place, Problem, Schedule
from orchestrator.planner.structure import portion_span, span, structure

# Prices of the last goal, ours: they weigh against each other only, never against the goals before.
BREAK_EACH = 30
"""A broken quality window counts as this many minutes more than those it is missed by."""
PREFERENCE_PER_MIN = 10
FRESH_PER_MIN = 4
LASTING_PER_MIN = 3
"""For what keeps longer than a week: frozen at -18 °C, a day more or less is not tasted."""
FRESH_FREE_MIN = 720
"""Food may wait this long beyond its least for nothing: finished on the last minute, it has no room for trouble.
What lasts may wait a twentieth of its time."""
MARGIN_MIN = 30
"""Room for trouble between an order's last work and its due instant."""
MARGIN_PER_MIN = 20
READY_EARLY_PER_MIN = 10
"""Handed over sooner than that margin asks: it stands about, tempered; dearer than the freshness it would save."""
PROMPT_PER_MIN = 3
"""Between two steps the second of which must follow soon: a step put at the end of its window has no room left."""
RESERVE_PER_MIN = 2
"""Hands of somebody who has other things to do, while those whose work it is may be free."""
ANOTHER_HAND = 40
"""A task begun by one person and ended by another."""
EARLY_PER_MIN = 1
CLEAN_PER_MIN = 40
FULL_EACH = 2500
"""A full clean more: it must be verified, and runs in the order of their allergens do without."""
MOVED = 1000
MOVED_PER_MIN = 2
"""The further off, the more people must think anew."""
CLEAN_MOVED = 1000
"""A clean-down that is not where, or not done by whom, it was."""
OTHER_WORKER = 5000
"""Dearer than a move: a changed person makes a plan wait for somebody to decide."""


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """Less is better, the first that differs decides."""

    unmet: int
    """Weights of the orders that are not met."""
    breaks: int
    """Minutes by which quality windows are missed, and `BREAK_EACH` for each."""
    late: int
    """Minutes late times the order's weight."""
    preference: int
    """All else, at the prices above."""


def missed(problem: Problem, schedule: Schedule, window: WindowClass) -> list[int]:
    """Minutes by which each window of a class is missed; only those that are."""
    spans = ((w, span(w, schedule.places)) for w in structure(problem).windows if w.window is window)
    return [by for w, minutes in spans if minutes is not None and (by := w.missed_by(minutes)) > 0]


def lateness(problem: Problem, schedule: Schedule) -> tuple[int | None, ...]:
    """Minutes late of each order: 0 when on time, none when it is not met."""
    late: list[int | None] = []
    for due in problem.dues:
        places = [schedule.places[job] for job in due.jobs]
        met = [place for place in places if place is not None]
        late.append(None if len(met) < len(places) else max([0, *(place.end - due.due for place in met)]))
    return tuple(late)


def _short_margin(problem: Problem, schedule: Schedule) -> int:
    """Minutes that orders lack of `MARGIN_MIN` before they are due."""
    short = 0
    for due in problem.dues:
        ends = [place.end for job in due.jobs if (place := schedule.places[job]) is not None]
        short += max(0, max(ends) - due.due + MARGIN_MIN) if len(ends) == len(due.jobs) and ends else 0
    return short


def ready_early(problem: Problem, schedule: Schedule) -> int:
    """Minutes that what is wanted stands ready before the margin of its order begins."""
    ends = ((due.due, schedule.places[job]) for due in problem.dues for job in due.jobs)
    return sum(max(0, due - MARGIN_MIN - place.end) for due, place in ends if place is not None)


def free_wait(job: Job) -> int:
    """Minutes that a stay may last before its food waits too long."""
    lasts = 0 if job.perishable else (job.keeps or job.longest) // 20
    return job.shortest + max(FRESH_FREE_MIN, lasts)


def fresh_price(job: Job) -> int:
    """What a minute beyond that costs."""
    return FRESH_PER_MIN if job.perishable else LASTING_PER_MIN


def _waits(problem: Problem, schedule: Schedule) -> list[tuple[int, int]]:
    """(minutes too long, price of each) of every stay of food."""
    places = ((problem.jobs[job], schedule.places[job]) for job in structure(problem).fresh)
    return [(max(0, p.end - p.start - free_wait(j)), fresh_price(j)) for j, p in places if p is not None]


def dawdling(problem: Problem, schedule: Schedule) -> int:
    """Minutes between steps that are to follow each other soon, beyond their least."""
    spans = ((w, span(w, schedule.places)) for w in structure(problem).windows if w.prompt)
    return sum(minutes - w.least for w, minutes in spans if minutes is not None)


def reserve(problem: Problem, schedule: Schedule) -> int:
    """Minutes of work of those who have other things to do."""
    spare = {index for index, worker in enumerate(problem.workers) if worker.reserve}
    minutes = sum((c.end - c.start) * len(spare.intersection(c.workers)) for c in schedule.cleans)
    for job, place in zip(problem.jobs, schedule.places, strict=True):
        for portion, who in enumerate(place.workers if place is not None and job.fixed is None else ()):
            assert place is not None
            start, end = portion_span(job, portion, place)
            minutes += (end - start) * len(spare.intersection(who))
    return minutes


def other_hands(problem: Problem, schedule: Schedule) -> int:
    """How often somebody else ends what one has begun."""
    return sum(
        _passed_on(place)
        for job, place in zip(problem.jobs, schedule.places, strict=True)
        if place is not None and job.fixed is None
    )


def _passed_on(place: Place) -> int:
    return sum(len(set(a) - set(b)) for a, b in zip(place.workers, place.workers[1:], strict=False))


def _earliness(problem: Problem, schedule: Schedule) -> int:
    ends = (schedule.places[job] for job in structure(problem).early if problem.jobs[job].fixed is None)
    return sum(max(0, place.end - problem.now) for place in ends if place is not None)


def changes(problem: Problem, schedule: Schedule) -> tuple[int, int]:
    """Work moved in time or to another machine, and hands replaced, against the adopted plan."""
    moved = replaced = 0
    for job, place, before in zip(problem.jobs, schedule.places, problem.previous, strict=False):
        if job.stay or job.fixed is not None or place is None or before is None:
            continue
        moved += place.start != before.start or place.machine != before.machine
        if len(before.workers) == len(place.workers):
            replaced += sum(len(set(a) - set(b)) for a, b in zip(before.workers, place.workers, strict=True))
    return moved, replaced


def shifted(problem: Problem, schedule: Schedule) -> int:
    """Minutes by which work has been moved against the adopted plan."""
    pairs = zip(problem.jobs, schedule.places, problem.previous, strict=False)
    return sum(abs(p.start - b.start) for j, p, b in pairs if p and b and not j.stay and j.fixed is None)


def cleans_moved(problem: Problem, schedule: Schedule) -> int:
    """Clean-downs of the adopted plan that are not as they were, of runs that are still there."""
    there = set(schedule.cleans)
    return sum(schedule.places[c.before] is not None and c not in there for c in problem.cleans_before)


def terms(problem: Problem, schedule: Schedule) -> tuple[tuple[str, int, float], ...]:
    """Each goal by name, with its stage and what it came to, in minutes or counts."""
    late = lateness(problem, schedule)
    moved, replaced = changes(problem, schedule)
    quality = missed(problem, schedule, WindowClass.QUALITY)
    return (
        ("orders not met", 1, float(sum(minutes is None for minutes in late))),
        ("quality windows broken", 2, float(len(quality))),
        ("minutes outside quality windows", 2, float(sum(quality))),
        ("weighted minutes late", 3, float(sum(d.weight * (m or 0) for d, m in zip(problem.dues, late, strict=True)))),
        ("minutes outside preferred windows", 4, float(sum(missed(problem, schedule, WindowClass.PREFERENCE)))),
        ("minutes short of a margin before due", 4, float(_short_margin(problem, schedule))),
        ("minutes handed over early", 4, float(ready_early(problem, schedule))),
        ("minutes that food waits too long", 4, float(sum(minutes for minutes, _ in _waits(problem, schedule)))),
        ("minutes between steps", 4, float(dawdling(problem, schedule))),
        ("minutes of those in reserve", 4, float(reserve(problem, schedule))),
        ("tasks passed on", 4, float(other_hands(problem, schedule))),
        ("minutes of clean-downs", 4, float(sum(clean.end - clean.start for clean in schedule.cleans))),
        ("full clean-downs", 4, float(sum(clean.full for clean in schedule.cleans))),
        ("minutes until things are made", 4, float(_earliness(problem, schedule))),
        ("tasks moved", 4, float(moved)),
        ("minutes moved", 4, float(shifted(problem, schedule))),
        ("clean-downs moved", 4, float(cleans_moved(problem, schedule))),
        ("people changed", 4, float(replaced)),
    )


def score(problem: Problem, schedule: Schedule) -> Score:
    """What a schedule is worth.

    Args:
        problem: What was asked for.
        schedule: A place for each of its jobs; it need not keep the rules.

    Returns:
        The four goals; comparing two scores compares goal by goal.
    """
    late = lateness(problem, schedule)
    quality = missed(problem, schedule, WindowClass.QUALITY)
    moved, replaced = changes(problem, schedule)
    return Score(
        unmet=sum(due.weight for due, minutes in zip(problem.dues, late, strict=True) if minutes is None),
        breaks=sum(quality) + BREAK_EACH * len(quality),
        late=sum(due.weight * (minutes or 0) for due, minutes in zip(problem.dues, late, strict=True)),
        preference=PREFERENCE_PER_MIN * sum(missed(problem, schedule, WindowClass.PREFERENCE))
        + MARGIN_PER_MIN * _short_margin(problem, schedule)
        + READY_EARLY_PER_MIN * ready_early(problem, schedule)
        + sum(minutes * price for minutes, price in _waits(problem, schedule))
        + PROMPT_PER_MIN * dawdling(problem, schedule)
        + RESERVE_PER_MIN * reserve(problem, schedule)
        + ANOTHER_HAND * other_hands(problem, schedule)
        + EARLY_PER_MIN * _earliness(problem, schedule)
        + sum(CLEAN_PER_MIN * (clean.end - clean.start) + FULL_EACH * clean.full for clean in schedule.cleans)
        + MOVED * moved
        + MOVED_PER_MIN * shifted(problem, schedule)
        + CLEAN_MOVED * cleans_moved(problem, schedule)
        + OTHER_WORKER * replaced,
    )
