"""What keeps work from any place between two instants, when all else is where it is: machine, people or store."""

from dataclasses import dataclass, replace

from orchestrator.planner import bits
from orchestrator.planner.clusters import place_cluster
from orchestrator.planner.lags import Network, bounds
from orchestrator.planner.placer import Placer, placed_again
from orchestrator.planner.problem import Job, Problem, Schedule, minutes_of
from orchestrator.planner.slots import Slots
from orchestrator.planner.structure import portion_at


@dataclass(frozen=True, slots=True)
class Hindrance:
    """What is in the way of one job, or of a group that belongs closely together, between two minutes."""

    job: int
    since: int
    until: int
    last: int | None = None
    """Last job of the group, where each would find a place alone."""
    machines: tuple[int, ...] = ()
    """Those it could use, or the stores it fills or empties."""
    stores: tuple[int, ...] = ()
    """Those without room."""
    people: bool = False
    heat: bool = False
    """There would be room in the machines, but too much warm food is in them: it would freeze slower than planned."""
    never: bool = False
    """It would find no place either if nothing else were to be done."""


class Hindrances:
    """What keeps work from its places beside a schedule: asked for one order after the other, looked at once."""

    def __init__(self, problem: Problem, net: Network, schedule: Schedule) -> None:
        """Begin with where all else is.

        Args:
            problem: What was to be placed.
            net: Its lags.
            schedule: Where all else is.
        """
        self._placer = placed_again(problem, net, schedule)
        self._known: dict[tuple[int, ...], Hindrance | None] = {}
        """What the last of these groups lacks once those before it have found places."""

    def of(self, jobs: list[int]) -> Hindrance | None:
        """What the first of the groups of these jobs, in order, that finds no place lacks; none if all would find one.

        Nothing is changed by it.
        """
        placer = self._placer
        mark, asked, found = placer.journal.mark(), tuple[int, ...](), None
        for cluster in dict.fromkeys(placer.net.cluster_of[job] for job in jobs if job in placer.net.cluster_of):
            asked = (*asked, cluster)
            if asked not in self._known:
                self._known[asked] = _lacks(placer, cluster)
            elif self._known[asked] is None:
                place_cluster(placer, cluster, _soon, backward=False)
            found = self._known[asked]
            if found is not None:
                break
        placer.journal.undo(mark)
        return found


def _lacks(placer: Placer, cluster: int) -> Hindrance | None:
    """Place a group as soon as may be; where it finds no place, what it lacks."""
    problem, net = placer.problem, placer.net
    if place_cluster(placer, cluster, _soon, backward=False):
        return None
    members = [job for job in net.clusters[cluster] if job not in placer.starts]
    low, high = bounds(net, placer.starts, members, placer.lengths)
    for job in members:
        found = _alone(placer, job, low[job], high[job])
        if found is not None:
            return found
    first, last = members[0], members[-1]
    machines = tuple(dict.fromkeys(m for job in members for m in problem.jobs[job].machines))
    told = Hindrance(first, low[first], high[first], last, machines=machines, people=True)
    return _relieved(placer, cluster, told)


def _soon(_job: int, low: int, _high: int) -> tuple[int, bool]:
    return low, False


def _relieved(placer: Placer, cluster: int, told: Hindrance) -> Hindrance:
    """The one kind of thing without which a group would find its place, if there is one."""
    problem = placer.problem
    everywhere = dict.fromkeys(range(len(problem.workers)), placer.everywhere)
    for never, hands in ((False, Slots(problem).hands), (True, everywhere)):
        if _fits(placer, cluster, hands=hands):
            return replace(told, machines=(), never=never)
    freezers = tuple(machine for machine in told.machines if problem.machines[machine].alone is not None)
    if freezers and place_cluster(_cool(placer), cluster, _soon, backward=False):
        return replace(told, machines=freezers, people=False, heat=True)
    stores = _stores_beside(placer, placer.net.clusters[cluster])
    if _fits(placer, cluster, without=stores):
        return replace(told, machines=(), stores=stores, people=False)
    if _fits(placer, cluster, without=told.machines):
        return replace(told, people=False)
    return told


def _fits(placer: Placer, cluster: int, *, hands: dict[int, int] | None = None, without: tuple[int, ...] = ()) -> bool:
    """Whether a group would find its place with other hands, or with some machines empty."""
    trial = placer.copy()
    if hands is not None:
        trial.slots.set_hands(hands)
    for machine in without:
        trial.slots.empty(machine)
    return place_cluster(trial, cluster, _soon, backward=False)


def _alone(placer: Placer, job: int, low: int, high: int) -> Hindrance | None:
    made, span = placer.problem.jobs[job], bits.span(low, high + 1)
    return _lacking(placer, made, (job, low, high), span) if span else None


def _lacking(placer: Placer, made: Job, asked: tuple[int, int, int], span: int) -> Hindrance | None:
    """What one job lacks between two minutes."""
    job, low, high = asked
    if made.machines and not _machines_free(placer, job, low, high) & span:
        told = Hindrance(job, low, high, machines=made.machines)
        if _machines_free(_cool(placer), job, low, high) & span:
            return replace(told, heat=True)
        empty = Placer(placer.problem, placer.net)
        return replace(told, never=not _machines_free(empty, job, low, high) & span)
    if not _people_free(placer.slots, job) & span:
        empty_slots = Slots(placer.problem)
        return Hindrance(job, low, high, people=True, never=not _people_free(empty_slots, job) & span)
    if not placer.stays_allow(job, span):
        return Hindrance(job, low, high, stores=_stores_beside(placer, [job]))
    if not placer.domain(job, low, high):
        return Hindrance(job, low, high, machines=made.machines, people=True)
    return None


def _machines_free(placer: Placer, job: int, low: int, high: int) -> int:
    found, made = 0, placer.problem.jobs[job]
    for machine in made.machines:
        for minutes in minutes_of(made, machine):
            found |= placer.machine_starts(machine, job, low, high, minutes)
    return found


def _cool(placer: Placer) -> Placer:
    """The same, were there no heat: for trials."""
    trial = placer.copy()
    machines = tuple(replace(machine, alone=None) for machine in placer.problem.machines)
    trial.problem = replace(placer.problem, machines=machines)
    return trial


def _people_free(slots: Slots, job: int) -> int:
    """Minutes at which a job could start as far as people go."""
    made = slots.problem.jobs[job]
    found = bits.span(0, slots.limit + 1)
    for portion in range(len(made.portions)):
        start, end = portion_at(made, portion, made.shortest)
        if end > start:
            found &= slots.attended(made.workers, made.hands, end - start) >> start
    return found


def _stores_beside(placer: Placer, jobs: list[int]) -> tuple[int, ...]:
    """Stores that jobs fill or empty."""
    net, beside = placer.net, list[int]()
    for job in jobs:
        beside += [lag.stay for lag in (*net.out[job], *net.into[job]) if lag.stay is not None]
        beside += [anchor.stay for anchor in net.anchors[job]]
    return tuple(dict.fromkeys(m for stay in beside for m in placer.problem.jobs[stay].machines))
