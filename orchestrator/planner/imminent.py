"""Work that people are about to begin stays where it is in a new plan, as long as facts let it."""

from dataclasses import replace
from typing import Final

from orchestrator.planner.problem import Job, Place, Problem, Schedule

SOON_MIN: Final = 60
"""Attended work that starts within so many minutes is what people are getting ready for; as `core.adoption.SOON`."""


def hold_imminent(problem: Problem, schedule: Schedule) -> Problem:
    """Nail down attended work that the plan before starts within the hour.

    Only what the schedule leaves in its place is held: what facts forbid has moved in it already. So the schedule
    stays a solution, and nothing that is held can make the problem impossible.

    Args:
        problem: With ``previous`` places.
        schedule: The plan before, repaired.

    Returns:
        The problem with these jobs on one minute, one machine and their own people.
    """
    held = {
        index: _nailed(problem.jobs[index], place)
        for index, place in enumerate(schedule.places)
        if place is not None and is_imminent(problem, index) and _same(problem.previous[index], place)
    }
    return replace(problem, jobs=tuple(held.get(i, job) for i, job in enumerate(problem.jobs))) if held else problem


def is_imminent(problem: Problem, index: int) -> bool:
    """Whether a job is attended, has not begun, and the plan before starts it within the hour."""
    job = problem.jobs[index]
    before = problem.previous[index] if problem.previous else None
    if before is None or job.stay or job.fixed is not None or not job.portions:
        return False
    return problem.now <= before.start <= problem.now + SOON_MIN


def _same(before: Place | None, place: Place) -> bool:
    if before is None:
        return False
    return (before.start, before.machine, before.workers) == (place.start, place.machine, place.workers)


def _nailed(job: Job, place: Place) -> Job:
    minutes = place.end - place.start
    return replace(
        job,
        shortest=minutes,
        longest=minutes,
        machines=() if place.machine is None else (place.machine,),
        lengths=(),
        workers=tuple(sorted({worker for portion in place.workers for worker in portion})),
        release=place.start,
        latest=place.start,
    )
