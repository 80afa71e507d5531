"""Work that can no longer be where it was goes as near as may be; what stands in its way gives way, if that is less."""

from collections.abc import Iterable
from typing import Final

from orchestrator.planner.clusters import most_tries, place_cluster
from orchestrator.planner.imminent import is_imminent
from orchestrator.planner.problem import Place
from orchestrator.planner.standing import in_turn, put_back, stands, take_out
from orchestrator.planner.turns import waits_for_facts
from orchestrator.planner.wishes import Generation, as_before

NEAR_MIN: Final = 30
"""So near to its old place nothing gives way to a group; one task more that moves counts as much as these minutes."""
_DEPTH: Final = 3
"""What gives way may itself make others give way, so often in a row."""
_REACH_MIN: Final = 1440
"""Groups that begin within a day after it may give way to a group."""
_Cost = tuple[int, int, int]


def place_begun(run: Generation, clusters: Iterable[int]) -> set[int]:
    """Place what must go on soon after facts, before anything that can still wait; returns what has its place."""
    begun = [c for c in clusters if waits_for_facts(run, c)]
    found = set()
    for cluster in sorted(begun, key=lambda c: (_first(run, c) or 0, c)):
        if stands(run.placer, run.net.clusters[cluster]) or place_cluster(
            run.placer, cluster, as_before(run), backward=False
        ):
            found.add(cluster)
    return found


def place_near(run: Generation, cluster: int, depth: int = _DEPTH) -> bool:
    """Place a group as near as may be to where the plan before had it.

    It keeps its turn: where it would have to go far, groups that came after it give way, as long as no more is late
    or moved by that. What people are about to begin never does.

    Args:
        run: Changed only on success.
        cluster: Number of the group.
        depth: How often in a row others may give way.
    """
    placer, mark = run.placer, run.placer.journal.mark()
    alone = place_cluster(placer, cluster, as_before(run), backward=False, tries=most_tries(placer))
    if not depth or placer.patience.over or (alone and _moved_by(run, cluster) <= NEAR_MIN):
        return alone
    others = _in_the_way(run, cluster)
    if not others:
        return alone
    cost = _cost(run, mark) if alone else None
    starts = [(job, placer.starts[job]) for job in run.net.clusters[cluster]] if alone else []
    placer.journal.undo(mark)
    relaxed = set(run.net.relaxed)
    if _with_others(run, cluster, others, depth, cost):
        return True
    placer.journal.undo(mark)
    run.net.relaxed = relaxed
    # Where it had found its place alone, it still does: nothing need be looked for once more.
    return alone and all(placer.commit(job, start) for job, start in starts)


def _with_others(run: Generation, cluster: int, others: list[int], depth: int, most: _Cost | None) -> bool:
    """Place a group as if those that came after it were not there, then these.

    Returns:
        False if one of them has no place, or as soon as all of it comes to no less than ``most``.
    """
    mark = run.placer.journal.mark()
    for other in others:
        take_out(run.placer, other)
    if not place_cluster(run.placer, cluster, as_before(run), backward=False):
        return False
    stood, sound = put_back(run.placer, others)
    for other in in_turn(run.problem, run.net, set(others) - stood) if sound else ():
        if not (_less(run, mark, most) and place_near(run, other, depth - 1)):
            return False
    return sound and _less(run, mark, most)


def _less(run: Generation, mark: int, most: _Cost | None) -> bool:
    return most is None or _cost(run, mark) < most


def _in_the_way(run: Generation, cluster: int) -> list[int]:
    """Placed groups that come after a group, and share its machines or people or follow from it."""
    problem, net, starts = run.problem, run.net, run.placer.starts
    begins = _first(run, cluster)
    if begins is None:
        return []
    found = []
    for other, members in enumerate(net.clusters):
        first = _first(run, other)
        if other == cluster or first is None or not all(job in starts for job in members):
            continue
        after = other in net.beside[cluster][1]
        near = begins <= first <= begins + _REACH_MIN and _shares(run, cluster, other)
        if (after or near) and not any(is_imminent(problem, job) for job in members):
            found.append(other)
    return found


def _first(run: Generation, cluster: int) -> int | None:
    """When the plan before had a group begin; none if it did not have all of it."""
    places = [run.problem.previous[job] for job in run.net.clusters[cluster]]
    starts = [place.start for place in places if place is not None]
    return min(starts) if len(starts) == len(places) else None


def _shares(run: Generation, cluster: int, other: int) -> bool:
    mine, theirs = (_asked(run, run.net.clusters[c]) for c in (cluster, other))
    return not mine.isdisjoint(theirs)


def _asked(run: Generation, members: Iterable[int]) -> set[tuple[str, int]]:
    """Machines and people that any of these jobs could ask for."""
    jobs = [run.problem.jobs[job] for job in members]
    people = {("worker", worker) for job in jobs if job.portions for worker in job.workers}
    return people | {("machine", machine) for job in jobs for machine in job.machines}


def _moved_by(run: Generation, cluster: int) -> int:
    """Most minutes by which any work of a group is off its old place."""
    found = [0]
    for job in run.net.clusters[cluster]:
        before = run.problem.previous[job]
        found.append(0 if before is None else abs(run.placer.starts[job] - before.start))
    return max(found)


def _cost(run: Generation, mark: int) -> _Cost:
    """Of what has been placed since a mark: minutes outside windows, weighted minutes late, and minutes moved."""
    placer, jobs = run.placer, run.problem.jobs
    touched = set(placer.journal.touched(mark).get(id(placer.places), ()))
    places = {job: placer.places[job] for job in touched if not jobs[job].stay and job in placer.places}
    late = sum(
        due.weight * max(0, places[job].end - due.due) for due in run.problem.dues for job in due.jobs if job in places
    )
    return _outside(run, places), late, sum(_moved(run, job, place) for job, place in places.items())


def _outside(run: Generation, places: dict[int, Place]) -> int:
    found = 0
    for job, place in places.items():
        for lag in run.net.into[job]:
            if lag.most is not None and lag.before in run.placer.starts:
                found += max(0, place.start - run.placer.end(lag.before) - lag.most)
        for anchor in run.net.anchors[job]:
            found += 0 if anchor.high is None else max(0, place.start - anchor.high)
    return found


def _moved(run: Generation, job: int, place: Place) -> int:
    before = run.problem.previous[job]
    if before is None or (before.start, before.machine) == (place.start, place.machine):
        return 0
    return NEAR_MIN + abs(place.start - before.start)
