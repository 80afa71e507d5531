"""Last instants: until when each task may start, and each stopped machine be back, with all else planned anew.

Each is a witness: a repaired plan, passed by the checker, begins the task then, or has the machine back then.
Repair is re-insertion; a cleverer plan might allow more, so what is named is a safe bound. It is called exact only
where links, shifts and stops alone allow nothing later, so that no plan could.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import TaskId
from orchestrator.core.models.questions import InstantsAnswer, InstantsQuestion, LatestReturn, LatestStart
from orchestrator.planner.generation import generate
from orchestrator.planner.indices import ceil_min
from orchestrator.planner.lags import network
from orchestrator.planner.last_returns import last_returns
from orchestrator.planner.latest_bounds import is_sure, latest_at_all
from orchestrator.planner.plan import Workbench, workbench
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.repair import repair
from orchestrator.planner.score import lateness, score

_LATER_MIN: Final = (480, 120, 30, 10)
"""So much later a task that is far away is tried, after as late as links allow: it need not be to the minute."""


class Stopped(Exception):
    """Told to stop: what has been found so far is the answer."""


def reinsert(problem: Problem) -> Schedule:
    """The plan before, each of its jobs as near to its place as can be."""
    return generate(problem, network(problem), "previous")


@dataclass(slots=True)
class Trials:
    """Repairs of one problem with something changed, one after the other."""

    bench: Workbench
    stop: Callable[[], bool]
    mend: Callable[[Problem], Schedule] = reinsert

    def __post_init__(self) -> None:
        """Where re-insertion alone does not even bring the unchanged plan back, the whole of repair is asked, which
        takes longer."""
        if not _keeps(self.bench, reinsert(self.bench.problem)):
            self.mend = repair

    def repaired(self, problem: Problem) -> Schedule:
        """The plan before, repaired in a changed problem. Raises: Stopped."""
        self._go_on()
        return self.mend(problem)

    def thoroughly(self, problem: Problem) -> Schedule:
        """The same with a search around what is late then: a machine that is away for hours moves more than one task
        held back does. Raises: Stopped."""
        self._go_on()
        return repair(problem)

    def _go_on(self) -> None:
        if self.stop():
            raise Stopped

    def delayed(self, job: int, start: int, *, thorough: bool = False) -> Iterator[Schedule]:
        """Plans in which a job may not start before a minute: re-inserted, then repaired. Raises: Stopped."""
        jobs = self.bench.problem.jobs
        later = replace(jobs[job], release=max(start, jobs[job].release))
        problem = replace(self.bench.problem, jobs=(*jobs[:job], later, *jobs[job + 1 :]))
        yield self.repaired(problem)
        if thorough:
            yield self.thoroughly(problem)


Look = Callable[[Trials, int, tuple[int, int]], int]


def last_instants(question: InstantsQuestion, stop: Callable[[], bool]) -> InstantsAnswer:
    """Latest starts of all waiting tasks, nearest first, and latest returns of the machines that stand.

    Args:
        question: The plan that is worked by, and up to when tasks are looked at to the minute.
        stop: True ends it with what there is by then.
    """
    bench = workbench(question.request.model_copy(update={"previous": question.plan}))
    trials = Trials(bench, stop)
    starts: list[LatestStart] = []
    returns: list[LatestReturn] = []
    near, far = _in_turn(bench, question.until)
    try:
        if question.part != "far":
            starts.extend(_starts(trials, near, _to_the_minute))
            returns.extend(last_returns(bench, bench.question.request, trials.thoroughly, question.until))
        if question.part != "near":
            starts.extend(_starts(trials, far, _roughly))
    except Stopped:
        return InstantsAnswer(starts=tuple(starts), returns=tuple(returns), complete=False)
    return InstantsAnswer(starts=tuple(starts), returns=tuple(returns))


def _in_turn(bench: Workbench, until: datetime) -> tuple[list[int], list[int]]:
    """Waiting work that the plan starts by then, and the rest, each in order of time."""
    jobs, places = bench.problem.jobs, bench.schedule.places
    waiting = [i for i, job in enumerate(jobs) if not job.stay and job.fixed is None]
    placed = sorted((place.start, i) for i in waiting if (place := places[i]) is not None)
    split = ceil_min(bench.problem.origin, until)
    return [i for start, i in placed if start <= split], [i for start, i in placed if start > split]


def _starts(trials: Trials, jobs: list[int], look: Look) -> Iterator[LatestStart]:
    bench = trials.bench
    ceiling = latest_at_all(bench.problem, bench.schedule)
    sure = is_sure(bench.problem, bench.schedule)
    for job in jobs:
        place = bench.schedule.places[job]
        assert place is not None
        minute = look(trials, job, (place.start, max(place.start, ceiling[job])))
        at = bench.problem.origin + timedelta(minutes=minute)
        exact = sure and minute == ceiling[job]
        yield LatestStart(task=TaskId(str(bench.demand.specs[job].id)), at=at, exact=exact)


def _to_the_minute(trials: Trials, job: int, span: tuple[int, int]) -> int:
    """The latest start found between two minutes, the first of which is good."""
    good, bad = span[0], span[1] + 1
    found = [good]
    middle = span[1]  # often all of it
    while bad - good > 1:
        kept = _kept(trials, job, middle, thorough=True)
        if kept is not None and kept < bad:
            good = kept
            found.append(good)
        else:
            bad = middle
        middle = (good + bad) // 2
    return _first_proven(trials, job, found[::-1], thorough=True)


def _roughly(trials: Trials, job: int, span: tuple[int, int]) -> int:
    """A start that is good, as late as few trials find it."""
    tries = [span[1], *(span[0] + later for later in _LATER_MIN if span[0] + later < span[1])]
    kept = next((k for start in tries if (k := _kept(trials, job, start)) is not None), span[0])
    return _first_proven(trials, job, [kept, span[0]])


def _kept(trials: Trials, job: int, start: int, *, thorough: bool = False) -> int | None:
    """Where a job begins if it may not before a minute; none if something is not kept then."""
    for schedule in trials.delayed(job, start, thorough=thorough):
        place = schedule.places[job]
        if place is not None and _keeps(trials.bench, schedule):
            return place.start
    return None


def _first_proven(trials: Trials, job: int, starts: list[int], *, thorough: bool = False) -> int:
    """The first of some starts whose plan passes the checker; the last is where the present plan has it."""
    for start in starts[:-1]:
        for schedule in trials.delayed(job, start, thorough=thorough):
            if _keeps(trials.bench, schedule) and not trials.bench.faults(schedule):
                return start
    return starts[-1]


def _keeps(bench: Workbench, schedule: Schedule) -> bool:
    """Whether no order is missed or late, and no quality window broken, beyond what the plan has already."""
    placed = zip(bench.schedule.places, schedule.places, strict=True)
    if any(before is not None and after is None for before, after in placed):
        return False
    pairs = zip(lateness(bench.problem, bench.schedule), lateness(bench.problem, schedule), strict=True)
    if any(then is None or then > now for now, then in pairs if now is not None):
        return False
    return score(bench.problem, schedule).breaks <= score(bench.problem, bench.schedule).breaks
