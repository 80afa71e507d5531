"""Verifies a schedule against its problem minute by minute: brute force, and no code of the planner's own."""

from orchestrator.core.models import WindowClass
from orchestrator.planner.problem import Job, Place, Problem, Schedule
from tests.planner.upkeep_verifier import upkeep_faults


def faults(problem: Problem, schedule: Schedule) -> list[str]:
    """Every rule that the schedule breaks, in words; quality and preference windows are not rules."""
    found: list[str] = []
    placed = [(i, job, place) for i, job in enumerate(problem.jobs) if (place := schedule.places[i]) is not None]
    for index, job, place in placed:
        found += [f"{job.id}: {fault}" for fault in _own_faults(problem, schedule, index, job, place)]
    found += _machine_faults(problem, placed)
    found += _crew_faults(problem, schedule, placed)
    found += upkeep_faults(problem, schedule)
    for due in problem.dues:
        ends = [schedule.places[job] for job in due.jobs]
        found += [f"{due.order} early" for p in ends if p is not None and p.end < due.earliest]
    return found


def _own_faults(problem: Problem, schedule: Schedule, index: int, job: Job, place: Place) -> list[str]:
    if job.fixed is not None:
        same = place.start == job.fixed.start and (job.fixed.end in {None, place.end})
        return [] if same and place.machine == job.fixed.machine else ["fixed, but moved"]
    found: list[str] = []
    length = place.end - place.start
    takes = _takes(problem, schedule, job, place)
    if not job.stay and length not in takes:
        found.append(
            f"crowded for {length}"
            if _is_crowded(problem, schedule, place) and length < min(takes)
            else f"lasts {length}"
        )
    if job.stay and job.stay_window is WindowClass.SAFETY and not job.shortest <= length <= job.longest:
        found.append(f"safety stay of {length}")
    followed = any(link.after == index for other in problem.jobs for link in other.after)
    if job.stay and not followed and place.end != min(place.start + job.longest, problem.horizon):
        found.append(f"a last stay that ends at {place.end}")
    latest = problem.horizon if job.latest is None else job.latest
    if place.end > problem.horizon or not job.release <= place.start <= latest:
        found.append("outside the horizon, before its release or after its latest start")
    if place.start < problem.now and not (job.stay and any(link.most == 0 for link in job.after)):
        found.append("starts in the past")
    if bool(job.machines) != (place.machine is not None) or (job.machines and place.machine not in job.machines):
        found.append(f"on machine {place.machine}")
    for link in job.after:
        before = schedule.places[link.after]
        if before is None:
            found.append(f"follows {problem.jobs[link.after].id}, which is left out")
            continue
        gap = place.start - before.end
        joined = link.most == 0 and (job.stay or problem.jobs[link.after].stay)
        hard = link.window is WindowClass.SAFETY or joined
        if gap < (link.least if hard else 0) or (hard and link.most is not None and gap > link.most):
            found.append(f"{gap} min after {problem.jobs[link.after].id}")
    for portion, workers in zip(job.portions, place.workers, strict=True):
        if len(set(workers)) != job.hands or not set(workers) <= set(job.workers):
            found.append(f"hands {workers} for {portion.when}")
    return found


def _takes(problem: Problem, schedule: Schedule, job: Job, place: Place) -> set[int]:
    """How long work may last: as long as on its machine; in a freezer longer, and only that where it is crowded."""
    if place.machine is None or place.machine not in job.machines:
        return {job.shortest}
    on = job.machines.index(place.machine)
    usual = job.lengths[on] if job.lengths else job.shortest
    longer = job.crowded[on] if job.crowded else usual
    return {longer} if _is_crowded(problem, schedule, place) else {usual, longer}


def _is_crowded(problem: Problem, schedule: Schedule, place: Place) -> bool:
    """Whether more warm food is with it, at any minute, than freezes at the usual pace."""
    alone = None if place.machine is None else problem.machines[place.machine].alone
    for minute in range(place.start, place.end) if alone is not None else ():
        warm = [
            other.load
            for other, there in zip(problem.jobs, schedule.places, strict=True)
            if not other.stay and there is not None and there.machine == place.machine
            if there.start <= minute < there.end
        ]
        if sum(warm) > alone:
            return True
    return False


def _needed(job: Job, place: Place) -> list[tuple[range, tuple[int, ...]]]:
    spans = []
    for portion, workers in zip(job.portions, place.workers, strict=True):
        minutes = range(place.start, place.end)
        if portion.when == "start":
            minutes = minutes[: portion.minutes]
        if portion.when == "end":
            minutes = minutes[max(0, len(minutes) - portion.minutes) :]
        spans.append((minutes, workers))
    return spans


def _machine_faults(problem: Problem, placed: list[tuple[int, Job, Place]]) -> list[str]:
    found: list[str] = []
    for index, machine in enumerate(problem.machines):
        inside = [0] * (problem.horizon + 1)
        for _, job, place in placed:
            if place.machine != index:
                continue
            for minute in range(place.start, place.end):
                inside[minute] += job.load if machine.shared else 1
                if job.fixed is None and any(a <= minute < b for a, b in machine.stops):
                    found.append(f"{job.id} on {machine.id} while it is stopped")
        most = machine.capacity if machine.shared else 1
        if most is not None and max(inside) > most:
            found.append(f"{machine.id} holds {max(inside)} at {inside.index(max(inside))}")
    return found


def _crew_faults(problem: Problem, schedule: Schedule, placed: list[tuple[int, Job, Place]]) -> list[str]:
    found: list[str] = []
    for index, worker in enumerate(problem.workers):
        there = {minute for a, b in worker.free for minute in range(a, b)}
        busy: set[int] = set()
        mine = [
            (job.id, m) for _, job, place in placed if job.fixed is None for m, w in _needed(job, place) if index in w
        ]
        mine += [(c.kind, range(c.start, c.end)) for c in schedule.cleans if index in c.workers]
        for what, minutes in mine:
            if not set(minutes) <= there:
                found.append(f"{worker.id} is not there for {what}")
            if busy.intersection(minutes):
                found.append(f"{worker.id} does two things during {what}")
            busy.update(minutes)
    return found
