"""Serial generation: groups of jobs are placed one after the other, and made way for where they find no place."""

from collections.abc import Mapping
from typing import Literal

from orchestrator.core.models import WindowClass
from orchestrator.planner.clusters import most_tries, place_cluster
from orchestrator.planner.giving_way import place_begun, place_near
from orchestrator.planner.lags import Network, bounds
from orchestrator.planner.patience import OutOfPatience, Patience
from orchestrator.planner.placer import Placer
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.standing import put_back, take_out
from orchestrator.planner.structure import structure
from orchestrator.planner.turns import Turns
from orchestrator.planner.wishes import Generation, Rule, ideal_starts, wish

_MAKE_WAY = 2
"""How often a group may push others aside before its windows, and then its orders, are given up."""


def generate(
    problem: Problem,
    net: Network,
    rule: Rule | Literal["previous"],
    *,
    careful: bool = False,
    sooner: Mapping[int, int] | None = None,
    patience: Patience | None = None,
) -> Schedule:
    """Place everything by one rule.

    Args:
        problem: What is to be placed.
        net: Its lags, from `network`; windows given up are added to it.
        rule: In which order groups are placed and where they would best go.
        careful: Give what warm food could crowd its crowded minutes from the start.
        sooner: Minutes by which orders, by number, have their turn as if they were due sooner, by a rule that goes by
            due.
        patience: Of whoever waits. Where it is over, the plan before is still put back, but what finds no place near
            its old one takes any, or none; by other rules nothing is begun any more.

    Returns:
        A schedule that keeps every hard rule; jobs of orders that cannot be met have no place.

    Raises:
        OutOfPatience: by any rule but that of the plan before.
    """
    run = Generation(problem, net, rule, Placer(problem, net, careful=careful, patience=patience), sooner=sooner or {})
    give_up_what_has_passed(run)
    ideal_starts(run)
    left = {c for c, members in enumerate(net.clusters) if not run.placer.given_up.intersection(members)}
    if rule == "previous":
        left -= place_begun(run, left)
        left -= put_back(run.placer, left)[0]
    turns = Turns(run, left)
    for _ in range(60 * (len(net.clusters) + 1)):
        cluster, urgent = (run.urgent.pop(0), True) if run.urgent else turns.take()
        if cluster is None:
            break
        if rule != "previous" and run.placer.patience.over:
            raise OutOfPatience
        if not _place(run, cluster, urgent=urgent):
            _make_way(run, turns, cluster)
        run.placer.journal.forget()
    for cluster in sorted(turns.left):
        _give_up(run, turns, cluster)
    _bring_back(run)
    return run.placer.schedule(f"first guess: {rule}" if rule != "previous" else "repair")


def _place(run: Generation, cluster: int, *, urgent: bool) -> bool:
    if run.rule == "previous" and not urgent:
        return place_near(run, cluster)
    backward = run.backward and not urgent
    return place_cluster(run.placer, cluster, wish(run, urgent=urgent), backward=backward, tries=most_tries(run.placer))


def give_up_what_has_passed(run: Generation) -> None:
    """Windows that facts have already closed: quality ones are given up, safety ones take their orders with them."""
    for _ in range(len(run.net.order) + 1):
        low, high = bounds(run.net, run.placer.starts, lengths=run.placer.lengths)
        shut = [j for j in run.net.free_jobs() if low[j] > high[j] and j not in run.placer.given_up]
        if not shut:
            return
        if not _relax(run.net, shut[:1]) and not _relax(run.net, sorted(run.net.downstream(shut[:1]))):
            _give_up_jobs(run, None, shut[:1])


def _relax(net: Network, jobs: list[int]) -> bool:
    """Give up the most of all windows of these jobs but the safety ones; False if there was none."""
    before = len(net.relaxed)
    for job in jobs:
        for lag in net.into[job]:
            if lag.most is not None and lag.window is not WindowClass.SAFETY:
                net.relaxed.add(lag.key)
        for anchor in net.anchors[job]:
            if anchor.high is not None and anchor.window is not WindowClass.SAFETY:
                net.relaxed.add((job, anchor.stay))
    return len(net.relaxed) > before


# When a group finds no place


def _make_way(run: Generation, turns: Turns, cluster: int) -> None:
    """Take out what follows a group, then what comes before it, and try again; at last give up its windows, itself."""
    most = 0 if run.placer.patience.over else _MAKE_WAY
    run.pushed[cluster] = run.pushed.get(cluster, 0) + 1
    if run.pushed[cluster] > most + 1:
        _give_up(run, turns, cluster)
        return
    out = _after(run, cluster)
    if run.pushed[cluster] >= most:
        out |= run.net.beside[cluster][0]
    if run.pushed[cluster] > most:
        _relax(run.net, run.net.clusters[cluster])
    out = {c for c in out if take_out(run.placer, c)}
    first = place_cluster(run.placer, cluster, wish(run, urgent=True), backward=False, tries=most_tries(run.placer))
    queue = sorted(out, key=lambda c: run.net.rank[run.net.clusters[c][0]])
    run.urgent = [c for c in run.urgent if c not in out] + queue
    turns.leave(out)
    if not first:
        if out or run.pushed[cluster] <= most:
            run.urgent.insert(0, cluster)
        else:
            _give_up(run, turns, cluster)


def _after(run: Generation, cluster: int) -> set[int]:
    jobs = run.net.downstream(run.net.clusters[cluster])
    return {run.net.cluster_of[job] for job in jobs if job in run.net.cluster_of} - {cluster}


def _give_up(run: Generation, turns: Turns, cluster: int) -> None:
    _give_up_jobs(run, turns, run.net.clusters[cluster])


def _give_up_jobs(run: Generation, turns: Turns | None, jobs: list[int]) -> None:
    """Leave out jobs, all that follows them, and whatever only serves orders that are lost with them."""
    shape = structure(run.problem)
    gone = run.net.downstream(jobs)
    unmet = {d for d, due in enumerate(run.problem.dues) if gone.intersection(due.jobs)}
    gone |= {j for j in run.net.free_jobs() if shape.reach[j] and shape.reach[j] <= unmet}
    gone = {job for job in gone if run.problem.jobs[job].fixed is None}
    run.placer.given_up |= gone
    for job in sorted(gone, key=run.net.rank.__getitem__, reverse=True):
        if job in run.placer.starts:
            run.placer.remove(job)
    lost = {c for c, members in enumerate(run.net.clusters) if gone.intersection(members)}
    for cluster in lost:
        take_out(run.placer, cluster)
    if turns is not None:
        turns.leave(lost)
    run.urgent = [c for c in run.urgent if c not in lost]


def _bring_back(run: Generation) -> None:
    """Orders given up on the way may find their places now that all else has its own."""
    shape = structure(run.problem)
    for due in sorted(range(len(run.problem.dues)), key=lambda d: run.problem.dues[d].due):
        if not run.placer.given_up.intersection(run.problem.dues[due].jobs):
            continue
        if run.placer.patience.overdrawn:
            return
        back = {job for job in run.placer.given_up if due in shape.reach[job]}
        clusters = list(dict.fromkeys(run.net.cluster_of[job] for job in run.net.order if job in back))
        # With all their windows again: those were given up to make way.
        run.net.relaxed = {pair for pair in run.net.relaxed if pair[0] not in back}
        for where in (wish(run, urgent=True), lambda _job, low, _high: (low, False)):
            mark = run.placer.journal.mark()
            run.placer.given_up -= back
            most = most_tries(run.placer)
            if all(place_cluster(run.placer, cluster, where, backward=False, tries=most) for cluster in clusters):
                break
            run.placer.journal.undo(mark)
            run.placer.given_up |= back
