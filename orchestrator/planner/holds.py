"""What moved work would break in time: facts, the present, links, windows, release and horizon."""

from collections.abc import Iterator

from orchestrator.core.models import WindowClass
from orchestrator.core.models.explanation import HoldKind
from orchestrator.planner.holds_places import Found, places_broken
from orchestrator.planner.problem import Place, Precedence, Problem, Schedule
from orchestrator.planner.shift import Movers, fillers, stays_round, takers
from orchestrator.planner.structure import structure


def broken(problem: Problem, before: Schedule, movers: Movers, trial: Schedule) -> tuple[list[Found], Schedule]:
    """What stands in the way of a move.

    Args:
        problem: What was asked.
        before: Where everything is.
        movers: What has been moved.
        trial: The schedule with it moved.

    Returns:
        Everything that the move breaks and that was not broken before; and the trial, on other machines of the same
        kind and with other people of the same skill where those are free.
    """
    in_time = [f for job in sorted(movers.jobs) for f in _in_time(problem, trial, job)]
    in_place, settled = places_broken(problem, before, movers, trial)
    known = {f.key for job in movers.jobs for f in _in_time(problem, before, job) if f.kind is not HoldKind.BEGUN}
    return [found for found in (*in_time, *in_place) if found.key not in known], settled


def _in_time(problem: Problem, trial: Schedule, job: int) -> Iterator[Found]:
    made, place = problem.jobs[job], trial.places[job]
    if place is None:
        return
    if made.fixed is not None:
        yield Found(HoldKind.BEGUN, job)
        return
    if place.start < problem.now:
        yield Found(HoldKind.NOW, job)
    if place.start < made.release and made.release > problem.now:
        yield Found(HoldKind.RELEASE, job, minute=made.release)
    if made.latest is not None and place.start > made.latest:
        yield Found(HoldKind.WINDOW, job, window=WindowClass.SAFETY, minute=made.latest)
    if place.end > problem.horizon:
        yield Found(HoldKind.HORIZON, job)
    held = place.start < made.release  # then the same instant would be named twice
    for due in problem.dues:
        if job in due.jobs and place.end < due.earliest and not (held and due.earliest <= made.release):
            yield Found(HoldKind.RELEASE, job, minute=due.earliest)
    yield from _links(problem, trial, job, place)
    yield from _stays(problem, trial, job)


def _links(problem: Problem, trial: Schedule, job: int, place: Place) -> Iterator[Found]:
    """Towards what it follows, and from what follows it."""
    for link in problem.jobs[job].after:
        before = trial.places[link.after]
        if before is not None and not problem.jobs[link.after].stay:
            yield from _link(job, link, place.start - before.end, link.after)
    for follower in structure(problem).followers[job]:
        after = trial.places[follower]
        if after is None or problem.jobs[follower].stay:
            continue
        for link in problem.jobs[follower].after:
            if link.after == job:
                yield from _link(job, link, after.start - place.end, follower)


def _link(job: int, link: Precedence, gap: int, other: int) -> Iterator[Found]:
    if gap < link.least:
        yield Found(HoldKind.FOLLOWS, job, others=(other,), limit=link.least)
    elif link.most is not None and gap > link.most:
        yield Found(HoldKind.WINDOW, job, others=(other,), limit=link.most, window=link.window)


def _stays(problem: Problem, trial: Schedule, job: int) -> Iterator[Found]:
    """Bounds of the stays it fills or takes from, and whatever else a stay waits for."""
    for stay in stays_round(problem, [job]):
        made, place = problem.jobs[stay], trial.places[stay]
        if place is None:
            continue
        ends = [other for other in (*fillers(problem, stay), *takers(problem, stay)) if other != job]
        length = place.end - place.start
        if takers(problem, stay) and length < made.shortest:
            yield Found(HoldKind.WINDOW, job, tuple(ends), stay=stay, limit=made.shortest, window=made.stay_window)
        elif takers(problem, stay) and made.longest < problem.horizon and length > made.longest:
            yield Found(HoldKind.WINDOW, job, tuple(ends), stay=stay, limit=made.longest, window=made.stay_window)
        for link in made.after:
            before = trial.places[link.after]
            if before is not None and place.start < before.end + link.least:
                yield Found(HoldKind.FOLLOWS, job, others=(link.after,), stay=stay, limit=link.least)
        taken = [trial.places[taker] for taker in takers(problem, stay)]
        if any(after is not None and after.start < place.start for after in taken):
            yield Found(HoldKind.FOLLOWS, job, others=tuple(ends), stay=stay)
