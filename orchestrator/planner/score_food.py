"""What a schedule does to the food: what is wasted, what waits too long, what is handed over too soon."""

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Job, Place, Problem, Schedule, minutes_on
from orchestrator.planner.structure import span, structure

# Prices of freshness, ours: they weigh against each other only, never against another goal.
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
SLOW_PER_MIN = 6
"""In a crowded freezer: slow freezing grows coarse crystals (common knowledge of the trade). Dearer than waiting, so
that no batch is given more time than it needs just to wait less afterwards."""
PROMPT_PER_MIN = 3
"""Between two steps the second of which must follow soon: a step put at the end of its window has no room left."""


def missed(problem: Problem, schedule: Schedule, window: WindowClass) -> list[int]:
    """Minutes by which each window of a class is missed; only those that are."""
    spans = ((w, span(w, schedule.places)) for w in structure(problem).windows if w.window is window)
    return [by for w, minutes in spans if minutes is not None and (by := w.missed_by(minutes)) > 0]


def lasts(job: Job) -> int:
    """Minutes that the food of a stay keeps."""
    return job.longest if job.keeps is None else job.keeps


def waste(problem: Problem, schedule: Schedule) -> int:
    """Hundredths of what nothing asks for and whose life ends before the horizon does."""
    rests = ((problem.jobs[index], schedule.places[index]) for index in structure(problem).rests)
    return sum(job.load for job, place in rests if place is not None and place.start + lasts(job) < problem.horizon)


def short_margin(problem: Problem, schedule: Schedule) -> int:
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
    twentieth = 0 if job.perishable else (job.keeps or job.longest) // 20
    return job.shortest + max(FRESH_FREE_MIN, twentieth)


def fresh_price(job: Job) -> int:
    """What a minute beyond that costs."""
    return FRESH_PER_MIN if job.perishable else LASTING_PER_MIN


def waits(problem: Problem, schedule: Schedule) -> list[tuple[int, int]]:
    """(minutes too long, price of each) of every stay of food."""
    places = ((problem.jobs[job], schedule.places[job]) for job in structure(problem).fresh)
    return [(max(0, p.end - p.start - free_wait(j)), fresh_price(j)) for j, p in places if p is not None]


def dawdling(problem: Problem, schedule: Schedule) -> int:
    """Minutes between steps that are to follow each other soon, beyond their least."""
    spans = ((w, span(w, schedule.places)) for w in structure(problem).windows if w.prompt)
    return sum(minutes - w.least for w, minutes in spans if minutes is not None)


def slow(job: Job, place: Place) -> int:
    """Minutes that work takes longer than usual, for other warm food beside it."""
    if job.fixed is not None or not job.crowded or place.machine not in job.machines:
        return 0
    return place.end - place.start - minutes_on(job, place.machine)


def slow_freezing(problem: Problem, schedule: Schedule) -> int:
    """Minutes of it in all."""
    places = zip(problem.jobs, schedule.places, strict=True)
    return sum(slow(job, place) for job, place in places if place is not None)


def freshness(problem: Problem, schedule: Schedule) -> int:
    """All of it but waste, at the prices above."""
    return (
        PREFERENCE_PER_MIN * sum(missed(problem, schedule, WindowClass.PREFERENCE))
        + MARGIN_PER_MIN * short_margin(problem, schedule)
        + READY_EARLY_PER_MIN * ready_early(problem, schedule)
        + sum(minutes * price for minutes, price in waits(problem, schedule))
        + PROMPT_PER_MIN * dawdling(problem, schedule)
        + SLOW_PER_MIN * slow_freezing(problem, schedule)
    )
