"""The plan before, taken over as it is: nothing moves while it still holds."""

from dataclasses import replace

from orchestrator.planner.problem import Job, Place, Problem, Schedule, minutes_of
from orchestrator.planner.score import score, terms
from orchestrator.planner.structure import fixed_place, structure


def as_it_was(problem: Problem) -> Schedule | None:
    """Every job where the plan before had it, and stays between their neighbours, as long as nothing is in trouble.

    Serial generation keeps more room than a plan needs (for a pre-cool before every run, say), so it cannot put back
    what the search has found. This can, but proves nothing: the caller has the plan checked.

    Args:
        problem: With ``previous`` places and facts.

    Returns:
        The schedule; none where a job has no place in the plan before, facts have overtaken one, an order is left out
        or late, or a quality window broken.
    """
    places: list[Place | None] = [None] * len(problem.jobs)
    for index in structure(problem).order:
        place = _place(problem, index, places)
        if place is None:
            return None
        places[index] = place
    was = Schedule(tuple(places), problem.cleans_before, "repair")
    worth = score(problem, was)
    if worth.unmet or worth.breaks or worth.late:
        return None
    return replace(was, terms=terms(problem, was))


def _place(problem: Problem, index: int, places: list[Place | None]) -> Place | None:
    job = problem.jobs[index]
    known = fixed_place(job)
    if known is not None:
        return known
    before = problem.previous[index] if index < len(problem.previous) else None
    if before is None:
        return None
    if not job.stay:
        stands = before.start >= problem.now and job.fixed is None and _as_long(job, before)
        return before if stands else None
    start = _filled_at(job, before, places)
    return Place(start, before.end, before.machine) if start <= before.end else None


def _as_long(job: Job, before: Place) -> bool:
    """Whether work still takes the minutes it was given: a cook may have added some, a manager adopted others."""
    if before.machine is None or before.machine not in job.machines:
        return not job.machines and before.end - before.start == job.shortest
    return before.end - before.start in minutes_of(job, before.machine)


def _filled_at(job: Job, before: Place, places: list[Place | None]) -> int:
    """A stay begins as what fills it ends, in fact if that has happened."""
    if job.fixed is not None:
        return job.fixed.start
    ends = [place.end for link in job.after if link.most == 0 and (place := places[link.after]) is not None]
    return ends[-1] if ends else before.start
