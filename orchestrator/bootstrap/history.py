"""The days before a demo opens, run through quickly: the same engine, people and heat, without screens and broker."""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Literal

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap.hooks import Hooks
from orchestrator.bootstrap.settings import NONE, Failure, Settings
from orchestrator.bootstrap.system import System, build
from orchestrator.core.models import PlanAnswer, PlanRequest, TaskKind
from orchestrator.core.models.questions import Answer, Question
from orchestrator.core.pace import usual_length
from orchestrator.core.state import TaskStatus
from orchestrator.engine import DeskSettings
from orchestrator.gateway.door import Snapshot
from orchestrator.ports.event_log import Reading
from orchestrator.ports.planning import OnBetter, Planner
from orchestrator.simulator.practice import Practice
from orchestrator.simulator.runner import Cast, Runner, cast_of

QUICK_DESK = DeskSettings(
    seconds=0.5, repair_seconds=0.5, debounce_s=0.01, first_retry_s=0.02, longest_retry_s=1.0, instants=False
)
_CURVE, _TO_COME = timedelta(minutes=5), timedelta(minutes=8)
"""What a curve needs to be one, and what is left to watch of it."""


@dataclass(slots=True)
class FirstWellThenQuick:
    """A planner that looks for a good plan once and afterwards only repairs it. Implements `ports.planning.Planner`."""

    planner: Planner
    first_seconds: float
    asked: int = 0

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        """Ask, with the effort that history deserves. Raises: PlannerFailed."""
        first = request.previous is None or not self.asked
        if effort == "full" and first:
            self.asked += 1
            return await self.planner.plan(request, effort="full", seconds=self.first_seconds)
        return await self.planner.plan(request, effort="repair", seconds=seconds)

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        """Passed on. Raises: PlannerFailed."""
        return await self.planner.ask(question, on_better)

    async def close(self) -> None:
        """The planner stays open: it belongs to whoever made it."""


@dataclass(frozen=True, slots=True)
class History:
    """How the days before are made."""

    settings: Settings
    planner: Planner
    start: datetime
    until: tuple[datetime, datetime]
    """It ends as soon as there is something to watch between these instants, and at the later one in any case."""
    seed: int
    variation: float
    on_progress: Callable[[str, float], None]
    """Told what is being done, and how much of it is done, 0 to 1."""


async def make_history(history: History) -> dict[str, Any]:
    """Run the days before.

    Returns:
        What `practice.restore` takes up.

    Raises:
        Failure: it could not be done.
    """
    clock = ScaledClock(history.start, rate=0.0)
    settings = replace(history.settings, broker=NONE)
    system = build(settings, Hooks(clock=clock, planner=history.planner, desk=QUICK_DESK, web=False))
    await system.start()
    try:
        history.on_progress("Planning the week", 0.0)
        await wait_for_plan(system)
        return await asyncio.to_thread(_live_through, system, clock, history, asyncio.get_running_loop())
    finally:
        await system.stop()


async def wait_for_plan(system: System, longest_s: float = 120.0) -> None:
    """Until there is a plan. Raises: Failure when there is none in time."""
    for _ in range(round(longest_s / 0.05)):
        if system.engine.picture.state.plan is not None:
            return
        await asyncio.sleep(0.05)
    raise Failure(f"there is no plan after {longest_s:.0f} s: {system.gateway.trouble() or 'the planner is silent'}")


def _live_through(
    system: System, clock: ScaledClock, history: History, loop: asyncio.AbstractEventLoop
) -> dict[str, Any]:
    cast = cast_of(system.gateway, history.start, seed=history.seed, variation=history.variation)
    earliest, latest = history.until
    whole_s = (earliest - history.start).total_seconds()

    def on_step(now: datetime) -> None:
        share = (now - history.start).total_seconds() / whole_s
        history.on_progress(f"Living through the days before: {now:%A %H:%M}", min(share, 1.0))

    runner = Runner(system.gateway, clock, cast, offer_to(system, loop), on_step)
    runner.run(earliest)
    while clock.now() < latest and not something_to_watch(system.gateway.snapshot()):
        runner.step(latest)
    return Practice(system.gateway, clock, cast, _nowhere, _nowhere).saved()


def something_to_watch(picture: Snapshot) -> bool:
    """Whether a cook has work in hand whose temperature is on its way, with a while of it behind and to come."""
    plan = picture.state.plan
    tasks = {task.id: task for task in plan.tasks} if plan is not None else {}
    for fact in picture.facts.values():
        task = tasks.get(fact.task) if fact.task is not None else None
        if task is None or task.kind is TaskKind.STAY or fact.silent_since is not None:
            continue
        record = picture.state.record(task.id)
        if record.status is not TaskStatus.IN_HAND or record.started_at is None:
            continue
        end = record.started_at + usual_length(picture.state, task)
        if record.started_at + _CURVE <= picture.now <= end - _TO_COME and fact.met_at is None:
            return True
    return False


def offer_to(system: System, loop: asyncio.AbstractEventLoop) -> Callable[[Sequence[Reading]], None]:
    """Hands readings to the engine from another thread, past MQTT."""

    def offer(readings: Sequence[Reading]) -> None:
        asyncio.run_coroutine_threadsafe(system.engine.on_readings(list(readings)), loop).result(30.0)

    return offer


def _nowhere(_: object) -> None:
    """Nothing is sent or kept here."""


__all__ = ["QUICK_DESK", "Cast", "FirstWellThenQuick", "History", "make_history", "offer_to", "wait_for_plan"]
