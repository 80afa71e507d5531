"""What moved work would break in a freezer: more warm food than freezes at the usual pace."""

from orchestrator.planner.problem import Place, Problem, Schedule, minutes_of
from orchestrator.planner.score_work import profile

Warm = list[tuple[int, Place]]


def too_warm(problem: Problem, trial: Schedule, job: int, machine: int) -> tuple[int, tuple[int, ...]] | None:
    """Whether work would have too much warm food beside it, or be too much beside other work at its usual pace.

    Args:
        problem: What was asked.
        trial: Where all would be.
        job: Work that is in the machine there.
        machine: Its machine.

    Returns:
        The most warm load together, in hundredths, and who is there beside it; none if all keep their pace.
    """
    alone, place = problem.machines[machine].alone, trial.places[job]
    if alone is None or place is None or problem.jobs[job].stay:
        return None
    warm = [
        (index, other)
        for index, other in enumerate(trial.places)
        if other is not None and other.machine == machine and not problem.jobs[index].stay and _meet(other, place)
    ]
    for own, where in warm:
        if problem.jobs[own].fixed is not None or where.end - where.start >= minutes_of(problem.jobs[own], machine)[-1]:
            continue
        beside = [(index, other) for index, other in warm if index != own and _meet(other, where)]
        most = _most(problem, beside, where)
        facts = _most(problem, [(i, p) for i, p in beside if problem.jobs[i].fixed is not None], where)
        # Facts are not asked to make room: what they leave too little of already, nothing that moves has taken.
        if most > max(alone - problem.jobs[own].load, facts):
            return most + problem.jobs[own].load, tuple(index for index, _ in warm if index != job)
    return None


def _meet(one: Place, other: Place) -> bool:
    return one.start < other.end and other.start < one.end


def _most(problem: Problem, warm: Warm, where: Place) -> int:
    """The most of these loads at once, while a place lasts."""
    cut = [(max(p.start, where.start), min(p.end, where.end), problem.jobs[index].load) for index, p in warm]
    return max((load for _, _, load in profile(cut)), default=0)
