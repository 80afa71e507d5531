"""What planning costs the process that asks: its loop's worst stall, and the memory of the planner's own processes."""

import asyncio
import contextlib
import gc
from collections.abc import Callable, Coroutine, Iterator, Mapping
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.questions import PlanProgress
from tests.benchmarks import loop_stall
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.loop_stall import Heartbeat, listening, quantile
from tests.benchmarks.markdown import NOTHING, table
from tests.benchmarks.memory import peak_mb

LIMIT_MS = 20.0
CONFIG = Path(__file__).parents[2] / "config"


def measurements(kitchens: dict[str, Callable[[], PlanRequest]], *, seconds: float) -> tuple[Measurement, ...]:
    """The asking loop alone, and a whole running kitchen with screens and a stream that follows."""
    asking = [
        Measurement(f"asking: {name}, {seconds:g} s", seconds + 6, partial(_asking, name, make, seconds))
        for name, make in kitchens.items()
    ]
    running = [
        Measurement(
            f"running: orders {times}×, {seconds:g} s",
            3 * seconds + 10,
            partial(_running, f"example, orders {times}×", times, seconds),
        )
        for times in (1, 2)
    ]
    idle = Measurement(f"idle, {seconds:g} s", seconds, partial(_idle, seconds))
    return (idle, *asking, *running)


def _idle(seconds: float) -> Figures:
    return {"kind": "asking", "name": "nothing going on", **asyncio.run(_watched(asyncio.sleep(seconds)))}


def _asking(name: str, make: Callable[[], PlanRequest], seconds: float) -> Figures:
    with _frozen():
        return {"kind": "asking", "name": name, **asyncio.run(_planners(make(), seconds))}


def _running(name: str, times: int, seconds: float) -> Figures:
    with _frozen():
        stalls = asyncio.run(loop_stall.measure(CONFIG, seconds=seconds, times=times, screens=True))
    return {"kind": "running", "name": name, **asdict(stalls)}


@contextlib.contextmanager
def _frozen() -> Iterator[None]:
    """What is loaded is out of the garbage collector's way, as `bootstrap.system` has it."""
    gc.collect()
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()


async def _watched(work: Coroutine[Any, Any, object]) -> Figures:
    """What the loop went through while something was waited for."""
    async with listening() as heart:
        await work
    return _stalls(heart)


def _stalls(heart: Heartbeat) -> Figures:
    return {
        "late_worst_ms": quantile(heart.late_ms, 1.0),
        "held_worst_ms": quantile(heart.held_ms, 1.0),
        "beats": len(heart.late_ms),
        "over": sum(late > LIMIT_MS for late in heart.late_ms),
        "held_over": sum(held > LIMIT_MS for held in heart.held_ms),
    }


async def _planners(request: PlanRequest, seconds: float) -> Figures:
    """A full plan with a repair in the middle of it, by processes that are warm."""
    planner = PlannerProcess(serve_quick, serve_searches)
    try:
        planner.start()
        await planner.plan(request, effort="repair", seconds=1.0)
        await planner.plan(request, effort="full", seconds=1.0)
        better: list[PlanProgress] = []
        stalls = await _watched(_planned(planner, request, seconds, better))
        pids = [child.process.pid if child.process else None for child in (planner.quick, planner.search)]
        peaks = dict(zip(("quick_mb", "search_mb"), map(peak_mb, pids), strict=True))
        return {**stalls, "told": len(better), **peaks}
    finally:
        await planner.close()


async def _planned(planner: PlannerProcess, request: PlanRequest, seconds: float, better: list[PlanProgress]) -> None:
    full = asyncio.create_task(planner.plan(request, effort="full", seconds=seconds, on_better=better.append))
    await asyncio.sleep(seconds / 2)
    repaired = await planner.plan(request, effort="repair", seconds=1.0)
    answer = await full
    if answer.plan is None or repaired.plan is None:
        raise RuntimeError("; ".join((*answer.violations, *repaired.violations)))


def tables(found: Mapping[str, Figures]) -> str:
    """Asking and running, each in a table of its own."""
    asking = [row for row in found.values() if row["kind"] == "asking"]
    running = [row for row in found.values() if row["kind"] == "running"]
    first = table(
        ["kitchen", "worst stall (ms)", "held by itself (ms)", f"over {LIMIT_MS:g} ms", "held over", "better plans",
         "quick's peak (MB)", "search's peak (MB)"],
        [
            [row["name"], *_millis(row, "late_worst_ms", "held_worst_ms"), f"{row['over']} of {row['beats']}",
             str(row["held_over"]), str(row.get("told", NOTHING)), _mb(row.get("quick_mb")), _mb(row.get("search_mb"))]
            for row in asking
        ],
    )  # fmt: skip
    second = table(
        ["kitchen", "batches", "tasks", "worst stall (ms)", "held by itself (ms)", "p99 held (ms)",
         "idle (ms)"],
        [
            [row["name"], str(row["batches"]), str(row["tasks"]),
             *_millis(row, "late_worst_ms", "held_worst_ms", "held_p99_ms", "idle_late_worst_ms")]
            for row in running
        ],
    )  # fmt: skip
    return (
        "## The loop's stalls, and the planner's processes\n\nA heartbeat each millisecond. Held by itself: what the "
        "process itself can have caused; the rest is others that had the cores.\n\nThe loop that asks, while a full "
        f"plan and a repair are made:\n\n{first}\n\nA running kitchen with screens, through three plans:\n\n{second}"
    )


def _millis(row: Figures, *names: str) -> list[str]:
    return [f"{row[name]:.1f}" for name in names]


def _mb(value: float | None) -> str:
    return NOTHING if value is None else f"{value:.0f}"
