"""How long the event loop is held while the planner works: a heartbeat on the loop of a running kitchen."""

import asyncio
import contextlib
import shutil
import sys
import tempfile
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

from ruamel.yaml import YAML

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap import Hooks, Settings, System, build
from orchestrator.core.commands import AskReplan, StopMachine
from orchestrator.core.ids import CommandId, EquipmentId
from orchestrator.kitchen.read import read_kitchen

BEAT_S = 0.001


@dataclass(slots=True)
class Heartbeat:
    """Wakes every millisecond and notes by how much it came late.

    Somebody of this process held the loop or the interpreter, or other processes had the cores. What this process
    spent of the processor meanwhile tells one from the other: it cannot have held the loop for longer than that.
    """

    late_ms: list[float] = field(default_factory=list)
    held_ms: list[float] = field(default_factory=list)
    """The part of it that this process can have caused."""

    async def run(self) -> None:
        """Beat until cancelled."""
        while True:
            due, spent = time.perf_counter() + BEAT_S, time.process_time()
            await asyncio.sleep(BEAT_S)
            late = max(0.0, time.perf_counter() - due)
            self.late_ms.append(late * 1000)
            self.held_ms.append(min(late, time.process_time() - spent) * 1000)


def quantile(values: list[float], share: float) -> float:
    """What that share of some values stay under; 0 without any."""
    ranked = sorted(values)
    return ranked[min(len(ranked) - 1, int(share * len(ranked)))] if ranked else 0.0


@contextlib.asynccontextmanager
async def listening() -> AsyncIterator[Heartbeat]:
    """A heartbeat while the block runs."""
    heart = Heartbeat()
    task = asyncio.create_task(heart.run())
    try:
        yield heart
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


@dataclass(frozen=True, slots=True)
class Stalls:
    """Of one run: first plan, a machine that stops (repair, search, adoption), and a re-plan that is asked for."""

    tasks: int
    batches: int
    beats: int
    held_p99_ms: float
    held_worst_ms: float
    """The longest that this process held its own loop."""
    late_worst_ms: float
    """The longest that a beat came late, whoever had the cores."""
    idle_late_worst_ms: float
    """The same while nobody plans."""


async def measure(kitchen: Path, *, seconds: float = 3.0, times: int = 1, screens: bool = False) -> Stalls:
    """Carry a kitchen, with the planner's real processes, through three plans.

    Args:
        kitchen: Folder of the kitchen.
        seconds: For each search.
        times: Every order so many times.
        screens: With the web screens, and a browser's stream that follows them.
    """
    with tempfile.TemporaryDirectory() as folder:
        wanted = _ordered(kitchen, Path(folder) / "kitchen", times)
        known = read_kitchen(wanted)
        settings = Settings(
            data=Path(folder) / "data", kitchen=wanted, broker="none", practice=True, planning_seconds=seconds
        )
        system = build(settings, Hooks(clock=ScaledClock(known.planning_start, 1.0), web=screens))
        await system.start()
        stream = await _follow(system) if screens else None
        try:
            async with listening() as busy:
                await _three_plans(system, next(e.id for e in known.equipment if e.kind == "churn"))
            async with listening() as idle:
                await asyncio.sleep(2.0)
            plan = system.engine.picture.state.plan
        finally:
            if stream is not None:
                stream.terminate()
                await stream.wait()
            await system.stop()
    return Stalls(
        tasks=len(plan.tasks) if plan is not None else 0,
        batches=len(plan.batches) if plan is not None else 0,
        beats=len(busy.late_ms),
        held_p99_ms=quantile(busy.held_ms, 0.99),
        held_worst_ms=quantile(busy.held_ms, 1.0),
        late_worst_ms=quantile(busy.late_ms, 1.0),
        idle_late_worst_ms=quantile(idle.late_ms, 1.0),
    )


def _ordered(kitchen: Path, copy: Path, times: int) -> Path:
    """The kitchen's folder with every order so many times."""
    shutil.copytree(kitchen, copy)
    yaml = YAML()
    orders = yaml.load(copy / "orders.yaml")
    again = [{**order, "id": f"{order['id']}-{n}"} for n in range(2, times + 1) for order in orders["orders"]]
    orders["orders"].extend(again)
    yaml.dump(orders, copy / "orders.yaml")
    return copy


_STREAM = "import sys, urllib.request\nfor line in urllib.request.urlopen(sys.argv[1]): pass"


async def _follow(system: System) -> asyncio.subprocess.Process:
    """Another process that reads the stream of changes, as a browser does."""
    return await asyncio.create_subprocess_exec(sys.executable, "-c", _STREAM, f"{system.url}/api/v1/changes")


async def _three_plans(system: System, churn: EquipmentId) -> None:
    await _planned(system, 1)
    until = system.clock.now() + timedelta(days=3)  # past the runs of Friday, so that the plan must be repaired
    stop = StopMachine(command_id=CommandId("stop"), equipment=churn, until=until, reason="measured")
    await system.engine.submit(stop)
    await _rest(system)
    await system.engine.submit(AskReplan(command_id=CommandId("again"), reason="measured"))
    await _rest(system)


async def _planned(system: System, revision: int) -> None:
    while system.engine.picture.state.revision < revision:
        await asyncio.sleep(0.05)


async def _rest(system: System) -> None:
    await asyncio.sleep(0.3)
    while system.engine.picture.planning:
        await asyncio.sleep(0.05)


if __name__ == "__main__":
    for times, screens in ((1, False), (1, True), (2, False), (2, True)):
        print(asyncio.run(measure(Path("config"), times=times, screens=screens)))
