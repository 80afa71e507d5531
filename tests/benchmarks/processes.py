"""What planning costs the process that asks: its loop's worst stall, and the memory of the planner's own processes."""

import asyncio
import contextlib
import gc
import time
from collections.abc import Callable
from dataclasses import dataclass

from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.questions import PlanProgress
from tests.benchmarks.kitchens import load
from tests.benchmarks.memory import peak_mb

SAMPLE_S = 0.001
LIMIT_MS = 20.0


@dataclass(slots=True)
class _Stalls:
    """How much later than asked for the loop came back, and how much of that this process worked itself."""

    worst_ms: float = 0.0
    own_ms: float = 0.0
    """Most of its own work (all threads) between two looks: what remains on a machine that nobody else uses."""
    looks: int = 0
    over: int = 0
    """Looks that came later than `LIMIT_MS`."""

    async def watch(self) -> None:
        """Look again and again."""
        while True:
            began, worked = time.perf_counter(), time.process_time()
            await asyncio.sleep(SAMPLE_S)
            stall = 1000 * (time.perf_counter() - began - SAMPLE_S)
            self.worst_ms = max(self.worst_ms, stall)
            self.own_ms = max(self.own_ms, 1000 * (time.process_time() - worked))
            self.looks += 1
            self.over += stall > LIMIT_MS


async def _watched(work: "asyncio.Task[object]") -> _Stalls:
    """What the loop went through while something was waited for."""
    stalls = _Stalls()
    watch = asyncio.create_task(stalls.watch())
    await work
    watch.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await watch
    return stalls


async def _planned(planner: PlannerProcess, request: PlanRequest, seconds: float, better: list[PlanProgress]) -> object:
    """A full plan, and a repair in the middle of it."""
    full = asyncio.create_task(planner.plan(request, effort="full", seconds=seconds, on_better=better.append))
    await asyncio.sleep(seconds / 2)
    repaired = await planner.plan(request, effort="repair", seconds=1.0)
    answer = await full
    if answer.plan is None or repaired.plan is None:
        raise RuntimeError("; ".join((*answer.violations, *repaired.violations)))
    return answer


async def _measure(kitchens: dict[str, Callable[[], PlanRequest]], seconds: float) -> None:
    _print("nothing going on", await _watched(asyncio.create_task(asyncio.sleep(seconds))), "")
    for name, make in kitchens.items():
        planner = PlannerProcess(serve_quick, serve_searches)
        try:
            planner.start()
            request = make()
            await planner.plan(request, effort="repair", seconds=1.0)
            await planner.plan(request, effort="full", seconds=1.0)
            better: list[PlanProgress] = []
            stalls = await _watched(asyncio.create_task(_planned(planner, request, seconds, better)))
            pids = [child.process.pid if child.process else None for child in (planner.quick, planner.search)]
            peaks = ["-" if (mb := peak_mb(pid)) is None else f"{mb:.0f} MB" for pid in pids]
            _print(name, stalls, f"{len(better):10}{peaks[0]:>12}{peaks[1]:>12}")
        finally:
            await planner.close()


def _print(name: str, stalls: _Stalls, rest: str) -> None:
    over = f"{stalls.over}/{stalls.looks}"
    print(f"{name:18}{stalls.worst_ms:14.1f}{stalls.own_ms:12.1f}{over:>14}{rest}", flush=True)


def report(kitchens: dict[str, Callable[[], PlanRequest]], *, seconds: float) -> None:
    """Print the table."""
    print(f"\nThe loop that asks, looked at each millisecond for {seconds:g} s ({load()}).")
    print("own work: most that the asking process itself worked between two looks, free of what else the machine does.")
    columns = f"{'told of':>10}{'quick peak':>12}{'search peak':>12}"
    print(f"{'kitchen':18}{'worst stall ms':>14}{'own work ms':>12}{f'over {LIMIT_MS:g} ms':>14}{columns}")
    gc.collect()
    gc.freeze()  # as `bootstrap.system` does
    try:
        asyncio.run(_measure(kitchens, seconds))
    finally:
        gc.unfreeze()
