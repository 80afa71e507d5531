"""What a schedule changes of the adopted plan, and how soon things are made."""

from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.structure import structure

# Prices of the last goal, ours.
MOVED = 1000
MOVED_PER_MIN = 2
"""The further off, the more people must think anew."""
CLEAN_MOVED = 1000
"""A clean-down that is not where, or not done by whom, it was."""
OTHER_WORKER = 5000
"""Dearer than a move: a changed person makes a plan wait for somebody to decide."""
EARLY_PER_MIN = 1
"""Until what is made to be kept is made: of plans alike in all else, the one that leaves room for trouble."""


def earliness(problem: Problem, schedule: Schedule) -> int:
    """Minutes until things are made, summed."""
    ends = (schedule.places[job] for job in structure(problem).early if problem.jobs[job].fixed is None)
    return sum(max(0, place.end - problem.now) for place in ends if place is not None)


def moves(problem: Problem, schedule: Schedule) -> tuple[int, int]:
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
    """Cleaning of the adopted plan that is not as it was, of runs still there. Pre-cools go with their runs."""
    there = set(schedule.cleans)
    return sum(
        c.kind != "pre-cool" and schedule.places[c.before] is not None and c not in there for c in problem.cleans_before
    )


def changes(problem: Problem, schedule: Schedule) -> int:
    """All of it at the prices above."""
    moved, replaced = moves(problem, schedule)
    return (
        MOVED * moved
        + MOVED_PER_MIN * shifted(problem, schedule)
        + CLEAN_MOVED * cleans_moved(problem, schedule)
        + OTHER_WORKER * replaced
        + EARLY_PER_MIN * earliness(problem, schedule)
    )
