"""Planted kitchens of growing size: the first plan, the search against one plain model, and whether zero is reached."""

import math
import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.score import scalar, score
from tests.benchmarks.curves import Curve, curve
from tests.benchmarks.kitchens import load, planted_kitchen
from tests.planner.planted import Tightness

MARKS_S = (1.0, 5.0, 20.0, 60.0)
PLANTED_S = (5.0, 20.0, 60.0)


@dataclass(frozen=True, slots=True)
class Size:
    """What to run: batches, seeds, seconds for each."""

    batches: int
    seeds: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Run:
    """One kitchen, planned both ways."""

    tasks: int
    first_ms: float
    first: float
    """The first plan's quality."""
    staged: Curve
    plain: Curve


def measured(size: Size) -> list[Run]:
    """Both ways, one after the other, seed by seed."""
    return [_run(size, seed) for seed in range(size.seeds)]


def _run(size: Size, seed: int) -> Run:
    problem = planted_kitchen(size.batches, seed).problem
    began = time.perf_counter()
    guess = first_guess(problem)
    taken = time.perf_counter() - began
    staged = curve("staged", problem, size.seconds, seed)
    plain = curve("plain", problem, size.seconds, seed)
    return Run(len(problem.jobs), 1000 * taken, scalar(score(problem, guess)), staged, plain)


def report(sizes: Iterable[Size]) -> None:
    """Print the tables."""
    runs = {}
    print("\nQuality is one number, less is better (`score.scalar`); medians of ratios; below 1 the planner is better.")
    print(
        "plain: one constraint model of the same, without first plan, stages, neighbourhoods, after the same seconds."
    )
    marks = "".join(f"{f'{mark:g} s':>9}" for mark in MARKS_S)
    print(f"{'':33}{'planner ÷ plain after':>36}{'planner ÷ first plan after':>36}  {'plain':>10}{'plain 20 s':>13}")
    print(
        f"{'batches':>7}{'tasks':>7}{'seeds':>6}{'first (ms)':>13}{marks}{marks}  {'found none':>10}{'reached (s)':>13}"
    )
    for size in sizes:
        runs[size] = measured(size)
        _print_quality(size, runs[size])
    _print_planted(runs)
    _print_growth(runs)


def _print_quality(size: Size, runs: list[Run]) -> None:
    against = [_median(lambda run, s=s: _ratio(run.staged.quality(s), run.plain.quality(s)), runs) for s in MARKS_S]
    first = [_median(lambda run, s=s: run.staged.quality(s) / run.first, runs) for s in MARKS_S]
    shown = "".join(
        _number(value) if s <= size.seconds else f"{'.':>9}" for s, value in zip(MARKS_S, against, strict=True)
    )
    shown += "".join(
        _number(value) if s <= size.seconds else f"{'.':>9}" for s, value in zip(MARKS_S, first, strict=True)
    )
    none = sum(not run.plain.points for run in runs)
    reached = [run.staged.reaches(run.plain.quality(20.0)) for run in runs if run.plain.at(20.0) is not None]
    when = f"{statistics.median(reached):.1f}" if reached else "-"
    millis = statistics.median(run.first_ms for run in runs)
    print(
        f"{size.batches:7}{runs[0].tasks:7}{len(runs):6}{millis:13.0f}{shown}  {f'{none}/{len(runs)}':>10}{when:>13}",
        flush=True,
    )


def _print_planted(runs: dict[Size, list[Run]]) -> None:
    print("\nPlanted kitchens: a plan without a late order and a broken window is known to be there. Reached within:")
    print(f"{'batches':>7}{'seeds':>6}" + "".join(f"{f'{s:g} s':>9}" for s in PLANTED_S) + "  how tight (seed 0)")
    for size, there in runs.items():
        reached = [sum(run.staged.on_time() <= s for run in there) for s in PLANTED_S]
        cells = [f"{n}/{len(there)}" if s <= size.seconds else "." for n, s in zip(reached, PLANTED_S, strict=True)]
        tight: Tightness = planted_kitchen(size.batches, 0).tightness
        print(f"{size.batches:7}{len(there):6}" + "".join(f"{cell:>9}" for cell in cells) + f"  {tight}")


def _print_growth(runs: dict[Size, list[Run]]) -> None:
    large = {size: there for size, there in runs.items() if size.batches >= 20}
    print(f"\nGrowth with size ({load()}):")
    for size, there in runs.items():
        peaks = [run.staged.peak_mb for run in there if run.staged.peak_mb is not None]
        others = [run.plain.peak_mb for run in there if run.plain.peak_mb is not None]
        cells = [f"{max(found):.0f} MB" if found else "-" for found in (peaks, others)]
        print(f"{size.batches:7} batches: peak memory of the planner's process {cells[0]}, of plain {cells[1]}")
    if len(large) < 2:
        return
    tasks = [float(there[0].tasks) for there in large.values()]
    first = exponent(tasks, [statistics.median(run.first_ms for run in there) for there in large.values()])
    print(f"first plan: milliseconds grow as tasks to the power of {first:.2f} (fitted from 20 batches up)")


def exponent(sizes: list[float], values: list[float]) -> float:
    """The power of size as which values grow: the slope of a straight line through their logarithms."""
    return float(np.polyfit(np.log(sizes), np.log(values), 1)[0])


def _ratio(ours: float, other: float) -> float:
    return math.nan if math.isinf(other) else ours / other


def _median(of: Callable[[Run], float], runs: list[Run]) -> float:
    found = [value for run in runs if not math.isnan(value := of(run))]
    return statistics.median(found) if found else math.nan


def _number(value: float) -> str:
    if math.isnan(value):
        return f"{'-':>9}"
    if math.isinf(value):
        return f"{'no plan':>9}"
    return f"{value:9.3f}" if value >= 0.001 else f"{value:9.0e}"
