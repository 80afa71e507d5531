"""Project-scheduling instances as planning problems, solved by the planner's core and verified without it."""

from dataclasses import dataclass

from orchestrator.core.models import WindowClass
from orchestrator.planner.makespan import Status, shortest
from orchestrator.planner.problem import Job, Machine, Precedence, Problem
from tests.benchmarks.project_files import Project
from tests.planner.problems import ORIGIN


@dataclass(frozen=True, slots=True)
class Result:
    """What the core made of an instance."""

    status: Status
    starts: tuple[int, ...] | None
    best: int | None
    bound: int | None
    """A proven lower bound: the solver's, or the longest path where that is longer."""


def posed(project: Project, earliest: list[int]) -> Problem:
    """A project as a kitchen without people and stores: each resource a shared machine, lags as windows.

    A positive lag is a least time after the end, lag − duration, which may be negative. A negative lag from a to b says
    how long after b has started a may start at most, and so is a most time of a after the end of b.

    Args:
        project: Activities, resources, lags.
        earliest: The earliest start of each by the lags alone.
    """
    least: dict[tuple[int, int], int] = {}
    most: dict[tuple[int, int], int] = {}
    for i, j, lag in project.lags:
        if lag > 0:
            gap = lag - project.durations[i]
            least[i, j] = max(gap, least.get((i, j), gap))
        else:
            gap = -lag - project.durations[j]
            most[j, i] = min(gap, most.get((j, i), gap))
    after: list[list[Precedence]] = [[] for _ in project.durations]
    for i, j in least.keys() | most.keys():
        after[j].append(Precedence(i, least.get((i, j), -project.horizon), most.get((i, j)), WindowClass.SAFETY))
    jobs = tuple(
        Job(
            f"activity {number}", minutes, minutes, release=release,
            also=tuple((resource, demand) for resource, demand in enumerate(demands) if demand),
            after=tuple(sorted(links, key=lambda link: link.after)),
        )
        for number, (minutes, demands, links, release) in enumerate(
            zip(project.durations, project.demands, after, earliest, strict=True), start=1
        )
    )  # fmt: skip
    machines = tuple(Machine(f"R{n}", capacity, shared=True) for n, capacity in enumerate(project.capacities, start=1))
    return Problem(ORIGIN, 0, project.horizon, jobs, machines)


def earliest_starts(project: Project) -> list[int] | None:
    """The earliest start of each activity by the lags alone: longest paths; none if some lags contradict each other."""
    starts = [0] * len(project.durations)
    for _ in range(len(starts) + 1):
        before = list(starts)
        for i, j, lag in project.lags:
            starts[j] = max(starts[j], starts[i] + lag)
        if starts == before:
            return starts
    return None


def solved(project: Project, *, seconds: float, workers: int = 2, deterministic: bool = False) -> Result:
    """The shortest schedule that the planner's core finds.

    Args:
        project: The instance.
        seconds: To spend at most.
        workers: Threads of the solver.
        deterministic: One thread and the solver's own clock, so that the answer repeats.
    """
    earliest = earliest_starts(project)
    too_much = any(d > c for demands in project.demands for d, c in zip(demands, project.capacities, strict=True))
    if earliest is None or too_much:
        return Result("infeasible", None, None, None)
    found = shortest(posed(project, earliest), seconds=seconds, workers=workers, deterministic=deterministic)
    if found.status == "infeasible":
        return Result(found.status, None, None, None)
    path = max(start + minutes for start, minutes in zip(earliest, project.durations, strict=True))
    starts = None
    if found.schedule is not None:
        starts = tuple(place.start for place in found.schedule.places if place is not None)
    return Result(found.status, starts, found.makespan, max(path, found.bound or 0))


def faults(project: Project, starts: tuple[int, ...]) -> list[str]:
    """Every lag and every capacity that a schedule breaks, minute by minute; no code of the planner's."""
    if len(starts) != len(project.durations):
        return [f"{len(starts)} starts for {len(project.durations)} activities"]
    found = [f"activity {n} starts at {start}" for n, start in enumerate(starts, start=1) if start < 0]
    found += [
        f"activity {j + 1} starts {starts[j] - starts[i]} after activity {i + 1}, not {lag} or more"
        for i, j, lag in project.lags
        if starts[j] - starts[i] < lag
    ]
    used: dict[tuple[int, int], int] = {}
    for start, minutes, demands in zip(starts, project.durations, project.demands, strict=True):
        for minute in range(start, start + minutes):
            for resource, demand in enumerate(demands):
                used[resource, minute] = used.get((resource, minute), 0) + demand
    over = {r: minute for (r, minute), load in sorted(used.items(), reverse=True) if load > project.capacities[r]}
    found += [f"R{resource + 1} is asked for too much at {minute}" for resource, minute in sorted(over.items())]
    return found
