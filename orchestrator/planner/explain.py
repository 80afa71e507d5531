"""Why an order is late or a window missed, in plain words: which machine, person, shift or window binds."""

from orchestrator.core.ids import OrderId
from orchestrator.core.models import PlannedTask, PlanRequest
from orchestrator.planner.demand import Demand
from orchestrator.planner.problem import Due, Place, Problem, Schedule
from orchestrator.planner.structure import portion_span, structure
from orchestrator.planner.words import Words


def why_late(request: PlanRequest, demand: Demand, problem: Problem, schedule: Schedule, order: OrderId) -> str:
    """What holds a late order up.

    Walks back from its last task along what each task waits for without slack, to the first that waits for a
    machine, for people, or for the present.

    Args:
        request: What was asked.
        demand: Tasks; spec i is job i.
        problem: What `pose` made of them.
        schedule: Where they are.
        order: A late order.

    Returns:
        A sentence.
    """
    words = Words(request, demand, problem, schedule)
    due = next((d for d in problem.dues if d.order == order), None)
    if due is None:
        return "nothing is made for it"
    job = max(due.jobs, key=lambda j: _end(words, j))
    stays: list[str] = []
    for _ in range(len(problem.jobs)):
        before = _binding(words, job)
        if before is None:
            break
        if problem.jobs[before].stay and problem.jobs[before].shortest:
            hours = problem.jobs[before].shortest / 60
            stays.append(f"{words.job(before)} takes at least {hours:g} h")
        job = before
    said = _what_binds(words, job)
    then = (f"then {' and '.join(stays[:2])}",) if stays else ()
    return "; ".join((said, *then, *_stopped(words, due, said), *_awaited(words, due, said)))


def _awaited(words: Words, due: Due, said: str) -> list[str]:
    """The ingredient for which an order's work waits longest, and begins as it comes, if that is not named yet."""
    problem = words.problem
    serves = structure(problem).reach
    position = problem.dues.index(due)
    own = [job for job, made in enumerate(problem.jobs) if position in serves[job] and made.fixed is None]
    waits = [
        (problem.jobs[job].release, awaited)
        for job in own
        if (place := words.place(job)) is not None and place.start <= problem.jobs[job].release
        if (awaited := words.awaited(job))
    ]
    release, awaited = max(waits, default=(0, ""))
    return [f"waits for {awaited}"] if release > problem.now and awaited not in said else []


def _stopped(words: Words, due: Due, said: str) -> list[str]:
    """Machines that an order's work could use, broken down before it is due and not named yet.

    Maintenance is planned round: it is named where it binds.
    """
    problem = words.problem
    serves = structure(problem).reach
    position = problem.dues.index(due)
    used = {m for job, made in enumerate(problem.jobs) if position in serves[job] for m in made.machines}
    broken = {stop.equipment for stop in words.request.stops}
    ends = {
        m: max((b for a, b in problem.machines[m].stops if a < due.due and b > problem.now), default=0)
        for m in used
        if words.request.kitchen.equipment[m].id in broken
    }
    named = [(words.machine(m), end) for m, end in sorted(ends.items()) if end]
    return [f"the {name} is stopped until {words.clock(end)}" for name, end in named if f"{name} (stopped)" not in said]


def _end(words: Words, job: int) -> int:
    place = words.place(job)
    return place.end if place is not None else 0


def _binding(words: Words, job: int) -> int | None:
    """What comes right before a job without slack; none if nothing before it holds it up."""
    place = words.place(job)
    if place is None or words.problem.jobs[job].fixed is not None:
        return None
    for link in words.problem.jobs[job].after:
        before = words.place(link.after)
        if before is None:
            continue
        made = words.problem.jobs[link.after]
        if made.stay:
            if place.start <= before.start + made.shortest:
                return link.after
        elif place.start <= before.end + link.least:
            return link.after
    return None


def _what_binds(words: Words, job: int) -> str:
    place, made = words.place(job), words.problem.jobs[job]
    name = words.job(job)
    if place is None:
        return f"{name} has no place"
    if made.fixed is not None:
        return f"{name} ends only {words.clock(place.end)}"
    if place.start <= words.problem.now:
        return f"{name} cannot start before now, {words.clock(words.problem.now)}"
    at = words.clock(place.start)
    if place.start <= made.release and (awaited := words.awaited(job)):
        return f"{name} waits for {awaited}"
    for other in [job, *_soon_after(words, job)]:
        said = _waits_for(words, other)
        if said:
            return f"{name} waits for {said}" if other == job else f"{name} waits, for {words.job(other)} needs {said}"
    return f"no earlier place than {at} was found for {name}"


def _soon_after(words: Words, job: int) -> list[int]:
    """Work that must follow a job soon, one step after the other."""
    found = [job]
    for before in found:
        for index, made in enumerate(words.problem.jobs):
            if not made.stay and any(
                link.after == before and link.most is not None and not link.life for link in made.after
            ):
                found += [index] if index not in found else []
    return found[1:]


def _waits_for(words: Words, job: int) -> str:
    """The machine, people or store that a job could not have had a minute earlier; empty if none."""
    place = words.place(job)
    if place is None:
        return ""
    at = words.clock(place.start)
    taken = _machine_taken(words, job, place)
    if taken:
        return f"the {taken} until {at}"
    people = _people_missing(words, job, place)
    if people:
        return f"people until {at}: {people}"
    for index, made in enumerate(words.problem.jobs):
        stay = words.place(index)
        if made.stay and stay is not None and any(link.after == job for link in made.after):
            full = _machine_taken(words, index, stay)
            if full:
                return f"room in the {full} until {words.clock(stay.start)}"
    return ""


def _machine_taken(words: Words, job: int, place: Place) -> str:
    """Which machine was not to be had in the minute before, and why."""
    made = words.problem.jobs[job]
    if not made.machines:
        return ""
    said = []
    for machine in made.machines:
        blocked = _blocked(words, job, machine, place.start - 1)
        if not blocked:
            return ""
        said.append(f"{words.machine(machine)} ({blocked})")
    return " and the ".join(said)


def _blocked(words: Words, job: int, machine: int, minute: int) -> str:
    made = words.problem.machines[machine]
    if any(start <= minute < end for start, end in made.stops):
        return "stopped"
    clean = next((c for c in words.schedule.cleans if c.machine == machine and c.start <= minute < c.end), None)
    if clean is not None:
        return "clean-down"
    there = [
        (index, words.problem.jobs[index].load)
        for index, place in enumerate(words.schedule.places)
        if place is not None and index != job and place.machine == machine and place.start <= minute < place.end
    ]
    if there and not made.shared:
        return f"taken by {words.job(there[0][0])}"
    there += [(-1, load) for start, end, load in made.taken if start <= minute < end]
    full = made.capacity is not None and sum(load for _, load in there) + words.problem.jobs[job].load > made.capacity
    return "full" if made.shared and full else ""


def _people_missing(words: Words, job: int, place: Place) -> str:
    made = words.problem.jobs[job]
    for index in range(len(made.portions)):
        start, _ = portion_span(made, index, place)
        there = [w for w in made.workers if any(a <= start - 1 < b for a, b in words.problem.workers[w].free)]
        skill = words.demand.specs[job].skill
        if len(there) < made.hands:
            return f"too few with the skill {skill} are there before"
        names = ", ".join(words.request.kitchen.crew[w].name for w in there)
        busy = [w for w in there if _busy(words, w, start - 1)]
        if len(there) - len(busy) < made.hands:
            return f"{names} at other work"
    return ""


def _busy(words: Words, worker: int, minute: int) -> bool:
    if any(worker in c.workers and c.start <= minute < c.end for c in words.schedule.cleans):
        return True
    for index, place in enumerate(words.schedule.places):
        if place is None:
            continue
        for portion, who in enumerate(place.workers):
            start, end = portion_span(words.problem.jobs[index], portion, place)
            if worker in who and start <= minute < end:
                return True
    return False


def why_break(
    request: PlanRequest,
    demand: Demand,
    problem: Problem,
    schedule: Schedule,
    *,
    task: PlannedTask,
    before: PlannedTask,
    side: str,
) -> str:
    """Why a quality window is missed, in a sentence.

    Args:
        request: What was asked.
        demand: Tasks; spec i is job i.
        problem: What `pose` made of them.
        schedule: Where they are.
        task: The task that starts outside its window.
        before: What it follows.
        side: ``too early`` or ``too late``.

    Returns:
        What it waits for; where nothing is found that it waits for, only that no better place was found.
    """
    words = Words(request, demand, problem, schedule)
    job = next((i for i, spec in enumerate(demand.specs) if spec.id == task.id), None)
    name, after = f"'{task.title}'", f"'{before.title}'"
    if side == "too late" and job is not None and (place := schedule.places[job]) is not None:
        if problem.jobs[job].fixed is None and place.start <= problem.now:
            return f"{name} could have started sooner after {after}, but that has passed: it is planned for now"
        for other in [job, *_soon_after(words, job)]:
            said = _waits_for(words, other)
            if said:
                return (
                    f"{name} waits for {said}" if other == job else f"{name} waits, for {words.job(other)} needs {said}"
                )
    clock = request.kitchen.when(task.start)
    what = "sooner" if side == "too late" else "later"
    return f"no place {what} than {clock} was found for {name} after {after}"
