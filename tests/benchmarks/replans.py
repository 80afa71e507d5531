"""Planning again: how long a repair takes, how much it moves, and how good it is against planning afresh."""

import random
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

from orchestrator.core.models import PlanRequest
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.plan import make_plan, workbench
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import scalar, score
from orchestrator.planner.score_changes import moves
from orchestrator.planner.solve import solve
from tests.fakes.drift import later

FIRST_S = 6.0
"""For the plan that reality then drifts from."""
AGAIN_S = 5.0
HOURS = 4


def disturbed(request: PlanRequest, count: int, seed: int) -> list[tuple[PlanRequest, float]]:
    """States that follow each other, each repaired before the next, with the seconds that its repair took.

    Raises:
        RuntimeError: a repair gave no plan.
    """
    chance = random.Random(seed)
    plan, state = make_plan(request, effort="full", seconds=FIRST_S, seed=seed).plan, request
    found: list[tuple[PlanRequest, float]] = []
    for _ in range(count):
        if plan is None:
            raise RuntimeError("a repair gave no plan")
        state = later(state, plan, state.now + timedelta(hours=HOURS), chance)
        began = time.perf_counter()
        plan = make_plan(state, effort="repair", seconds=1.0).plan
        found.append((state, time.perf_counter() - began))
    return found


def report(kitchens: dict[str, Callable[[], PlanRequest]], *, states: int, again: int, seeds: int) -> None:
    """Print latencies of all states, and for some of them what a second plan of `AGAIN_S` seconds is worth."""
    print(f"\nPlanning again: the crew follows the plan, up to 15 min off; a state every {HOURS} hours, each repaired.")
    print(f"again: {AGAIN_S:g} s with a price on change; afresh: {AGAIN_S:g} s without the plan before. Medians.")
    print(
        f"{'kitchen':18}{'states':>7}{'repair p50':>12}{'p95':>7} (ms){'moved: repair':>16}{'again':>8}{'afresh':>8}"
        f"{'again ÷ afresh':>16}"
    )
    for name, make in kitchens.items():
        found = [state for seed in range(seeds) for state in disturbed(make(), states, seed)]
        cuts = statistics.quantiles([taken for _, taken in found], n=20, method="inclusive")
        step = max(1, len(found) // (again * seeds))
        rows = [_again(state) for state, _ in found[step // 2 :: step]]
        moved = [f"{statistics.median(row[column] for row in rows):.0%}" for column in range(3)]
        print(
            f"{name:18}{len(found):7}{1000 * cuts[9]:12.0f}{1000 * cuts[18]:7.0f}{'':5}{moved[0]:>16}{moved[1]:>8}"
            f"{moved[2]:>8}{statistics.median(row[3] for row in rows):16.2f}  (of {len(rows)} states)",
            flush=True,
        )


def _again(state: PlanRequest) -> tuple[float, float, float, float]:
    """Shares of tasks moved by repair, by planning again and afresh; quality of again against afresh."""
    bench = workbench(state)
    problem, mended = bench.problem, bench.schedule
    free = replace(problem, previous=(), cleans_before=())
    again = solve(problem, mended, seconds=AGAIN_S)
    afresh = solve(free, first_guess(free), seconds=AGAIN_S)
    worth = scalar(score(free, again)) / scalar(score(free, afresh))
    return _moved(problem, mended), _moved(problem, again), _moved(problem, afresh), worth


def _moved(problem: Problem, schedule: Schedule) -> float:
    """Share of the work still to come that is at another minute or machine than it was."""
    to_come = sum(
        before is not None and not job.stay and job.fixed is None
        for job, before in zip(problem.jobs, problem.previous, strict=True)
    )
    return moves(problem, schedule)[0] / max(1, to_come)
