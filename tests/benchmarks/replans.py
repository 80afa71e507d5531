"""Planning again: how long a repair takes, how much it moves, and how good it is against planning afresh."""

import random
import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import timedelta
from functools import partial

from orchestrator.core.models import Plan, PlanRequest, Stop
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.plan import make_plan, workbench
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import scalar, score
from orchestrator.planner.score_changes import moves
from orchestrator.planner.solve import solve
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.markdown import number, table
from tests.fakes.drift import later

FIRST_S = 6.0
"""For the plan that reality then drifts from."""
AGAIN_S = 5.0
HOURS = 4
STOPPED_H = (4, 24)
"""Beside each state, one in which a machine, chosen by chance, is told to stand for one of these."""
Taken = tuple[float, float]
"""Seconds on the wall and of the processor."""


def disturbed(request: PlanRequest, count: int, seed: int) -> list[tuple[PlanRequest, Taken]]:
    """States that follow each other, each repaired before the next, with the seconds that its repair took.

    Raises:
        RuntimeError: a repair gave no plan.
    """
    chance = random.Random(seed)
    plan, state = make_plan(request, effort="full", seconds=FIRST_S, seed=seed).plan, request
    found: list[tuple[PlanRequest, Taken]] = []
    for _ in range(count):
        if plan is None:
            raise RuntimeError("a repair gave no plan")
        state = later(state, plan, state.now + timedelta(hours=HOURS), chance)
        plan, taken = _repaired(state)
        found.append((state, taken))
    return found


def _repaired(state: PlanRequest) -> tuple[Plan | None, Taken]:
    """Repeatable: what is counted is the same on every machine, and what it takes is that of this one."""
    wall, processor = time.perf_counter(), time.process_time()
    plan = make_plan(state, effort="repair", seconds=1.0, deterministic=True).plan
    return plan, (time.perf_counter() - wall, time.process_time() - processor)


def _stopped(state: PlanRequest, chance: random.Random) -> Taken:
    """How long the repair takes once a machine is told to stand.

    Raises:
        RuntimeError: a repair gave no plan.
    """
    until = state.now + timedelta(hours=chance.choice(STOPPED_H))
    stop = Stop(equipment=chance.choice(state.kitchen.equipment).id, start=state.now, end=until)
    plan, taken = _repaired(state.model_copy(update={"stops": (*state.stops, stop)}))
    if plan is None:
        raise RuntimeError(f"no repair with {stop.equipment} stopped")
    return taken


def measurements(
    kitchens: dict[str, Callable[[], PlanRequest]], *, seeds: int, states: int, again: int
) -> tuple[Measurement, ...]:
    """A series of states for each kitchen and seed; ``again`` of them are also planned for `AGAIN_S` seconds."""
    return tuple(
        Measurement(
            f"{name}, seed {seed}, {states} states, {again} again",
            FIRST_S + 0.9 * states + (2 * AGAIN_S + 2) * again,
            partial(_measured, name, make, states, again, seed),
        )
        for name, make in kitchens.items()
        for seed in range(seeds)
    )


def _measured(name: str, make: Callable[[], PlanRequest], states: int, again: int, seed: int) -> Figures:
    found = disturbed(make(), states, seed)
    step = max(1, states // again)
    chosen = [state for state, _ in found[step // 2 :: step]][:again]
    chance = random.Random(seed)
    return {
        "kitchen": name,
        "repair_s": [taken for _, taken in found],
        "stopped_s": [_stopped(state, chance) for state, _ in found],
        "again": [_again(state) for state in chosen],
    }


def tables(found: Mapping[str, Figures]) -> str:
    """Latencies of all states, and for some of them what a second plan of `AGAIN_S` seconds is worth."""
    rows = []
    for name in dict.fromkeys(figures["kitchen"] for figures in found.values()):
        there = [figures for figures in found.values() if figures["kitchen"] == name]
        again = [row for figures in there for row in figures["again"]]
        moved = [f"{statistics.median(row[column] for row in again):.0%}" for column in range(3)]
        worth = statistics.median(row[3] for row in again)
        count = sum(len(figures["repair_s"]) for figures in there)
        millis = [_latency(there, kind) for kind in ("repair_s", "stopped_s")]
        rows.append([name, str(count), *millis, str(len(again)), *moved, number(worth)])
    head = ["kitchen", "states", "repair, ms: p50 / p95 / worst (processor)", "a machine stopped",
            "again: states", "moved by repair", "again", "afresh", "again ÷ afresh"]  # fmt: skip
    return (
        f"## Planning again\n\nThe crew follows the plan, up to 15 min off; a state every {HOURS} hours, each repaired "
        "and checked; beside it one in which a machine, by chance, is told to stand for "
        f"{' or '.join(map(str, STOPPED_H))} h. Again: {AGAIN_S:g} s with a price on change; afresh: {AGAIN_S:g} s "
        "without the plan before. Medians; moved: share of the work still to come; again ÷ afresh: quality, below 1 "
        "again is better."
        f"\n\n{table(head, rows)}"
    )


def _latency(there: list[Figures], kind: str) -> str:
    """The median, the 19th of twenty and the worst of all states, on the wall; and of the processor."""
    told = []
    for clock in range(2):
        taken = [pair[clock] for figures in there for pair in figures[kind]]
        cuts = statistics.quantiles(taken, n=20, method="inclusive")
        told.append(" / ".join(f"{1000 * seconds:.0f}" for seconds in (cuts[9], cuts[18], max(taken))))
    return f"{told[0]} ({told[1]})"


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
