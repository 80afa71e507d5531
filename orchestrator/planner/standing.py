"""The plan before, as far as it stands: what no disturbance touches keeps its place, upkeep included."""

from collections.abc import Collection, Iterable

from orchestrator.core.models import WindowClass
from orchestrator.planner.imminent import is_imminent
from orchestrator.planner.lags import Lag, Network
from orchestrator.planner.placer import Placer
from orchestrator.planner.problem import Job, Place, Problem, minutes_of
from orchestrator.planner.rooms import Use
from orchestrator.planner.structure import portion_span


def put_back(placer: Placer, clusters: Collection[int]) -> tuple[set[int], bool]:
    """Place groups of jobs where the plan before had them, as far as they still fit there.

    Serial generation keeps room for whatever upkeep a machine may come to need while it is half filled, so it cannot
    put back what a search has packed. Here work goes in without its upkeep, in order of time, what people are getting
    ready for first; then the upkeep of the plan before follows, and only where runs now need another is that placed
    anew. A run that then lacks what it needs is taken out again, with its group.

    Args:
        placer: What these groups go beside. Windows that the plan before broke already are given up in its network.
        clusters: None of which is placed.

    Returns:
        The groups that have their places; and whether every run on the machines has the upkeep that it needs.
    """
    problem, net = placer.problem, placer.net
    left = [machine for machine, made in enumerate(problem.machines) if made.kept]
    for machine in left:
        placer.clear_upkeep(machine)
    stood = {cluster for cluster in in_turn(problem, net, clusters) if stands(placer, net.clusters[cluster])}
    sound = True
    while left:
        lacking = [net.cluster_of.get(run, -1) for run in placer.mend_upkeep(left[-1])]
        cluster = next((c for c in lacking if c in stood), None)
        if cluster is None:
            sound = sound and not lacking
            left.pop()
            continue
        stood.discard(cluster)
        left += [machine for machine in _kept_machines(problem, net.clusters[cluster]) if machine not in left]
        take_out(placer, cluster)
    return stood, sound


def take_out(placer: Placer, cluster: int) -> bool:
    """Take a group out, whatever upkeep is lacking then; False if none of it was placed."""
    members = [job for job in placer.net.clusters[cluster] if job in placer.starts]
    for job in reversed(members):
        placer.remove(job)
    return bool(members)


def _kept_machines(problem: Problem, jobs: Iterable[int]) -> list[int]:
    """Machines to which something is done between runs, and on which the plan before had any of these jobs."""
    places = (problem.previous[job] for job in jobs)
    machines = {place.machine for place in places if place is not None and place.machine is not None}
    return sorted(machine for machine in machines if problem.machines[machine].kept)


def in_turn(problem: Problem, net: Network, clusters: Iterable[int]) -> list[int]:
    """Those of these groups that the plan before has all of: imminent ones first, then in time."""
    found: list[tuple[bool, int, int]] = []
    for cluster in clusters:
        members = net.clusters[cluster]
        places = [problem.previous[job] for job in members]
        starts = [place.start for place in places if place is not None]
        if len(starts) == len(members):
            found.append((not any(is_imminent(problem, job) for job in members), min(starts), cluster))
    return [cluster for _, _, cluster in sorted(found)]


def stands(placer: Placer, members: list[int]) -> bool:
    """Place a group where the plan before had it, its upkeep apart; False, and nothing changed, if it does not fit."""
    mark = placer.journal.mark()
    if all(job not in placer.given_up and _put(placer, job) for job in members):
        return True
    placer.journal.undo(mark)
    return False


def _put(placer: Placer, job: int) -> bool:
    """Place work as it was, its upkeep apart; False, with the slots in disorder, if it does not fit."""
    made, place = placer.problem.jobs[job], placer.before(job)
    if place is None or not (_in_time(placer, job, place) and _has_room(placer, job, place)):
        return False
    placer.journal.put(placer.starts, job, place.start)
    placer.journal.put(placer.places, job, place)
    if made.varies:
        placer.journal.put(placer.lengths, job, place.end - place.start)
    for portion, who in enumerate(place.workers):
        placer.slots.book(who, *portion_span(made, portion, place))
    if place.machine is not None:
        placer.slots.use(place.machine, job, Use(place.start, place.end, made.load))
    return placer.fill_stores(job)


def _in_time(placer: Placer, job: int, place: Place) -> bool:
    """Whether a place keeps to the present, to what work now takes, and to the lags beside it."""
    problem, net = placer.problem, placer.net
    made = problem.jobs[job]
    latest = problem.horizon if made.latest is None else made.latest
    if not (max(problem.now, made.release) <= place.start <= latest and place.end <= problem.horizon):
        return False
    if not _as_long(made, place):
        return False
    for anchor in net.anchors[job]:
        if place.start < anchor.low:
            return False
        if anchor.high is not None and (job, anchor.stay) not in net.relaxed and place.start > anchor.high:
            return False
    return all(
        _keeps(placer, lag, placer.places[lag.before], place) for lag in net.into[job] if lag.before in placer.starts
    ) and all(_keeps(placer, lag, place, placer.places[lag.job]) for lag in net.out[job] if lag.job in placer.starts)


def _as_long(job: Job, before: Place) -> bool:
    """Whether work still takes the minutes it was given: a cook may have added some, a manager adopted others."""
    if before.machine is None or before.machine not in job.machines:
        return not job.machines and before.end - before.start == job.shortest
    return before.end - before.start in minutes_of(job, before.machine)


def _keeps(placer: Placer, lag: Lag, first: Place, then: Place) -> bool:
    """Whether a lag is kept, or is a window that the plan before broke already."""
    apart, most = then.start - first.end, placer.net.most(lag)
    if apart < lag.least:
        return False
    if most is None or apart <= most:
        return True
    known, after = placer.before(lag.before), placer.before(lag.job)
    broken = known is not None and after is not None and after.start - known.end > most
    if lag.window is WindowClass.SAFETY or not broken:
        return False
    placer.net.relaxed.add(lag.key)
    return True


def _has_room(placer: Placer, job: int, place: Place) -> bool:
    """Whether its people are free there, and its machine."""
    made, slots = placer.problem.jobs[job], placer.slots
    if len(place.workers) != len(made.portions):
        return False
    for portion, who in enumerate(place.workers):
        able = len(who) == made.hands and set(who) <= set(made.workers)
        if not able or slots.who(who, made.hands, *portion_span(made, portion, place)) is None:
            return False
    return place.machine is None or placer.takes(place.machine, job, place)
