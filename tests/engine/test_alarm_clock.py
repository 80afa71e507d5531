"""Timers are derived from the state, armed anew at every start, and tick through the inbox."""

import asyncio
from datetime import timedelta

from orchestrator.core.commands import Command, Tick
from orchestrator.core.errors import Refusal
from orchestrator.engine import Engine, Rules
from orchestrator.engine.rules import Decided
from tests.fakes.clocks import START, HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.rules import decide, small_rules, stop


class Heard:
    """Rules that note the instants at which ticks arrive."""

    def __init__(self) -> None:
        self.ticks: list[timedelta] = []
        small = small_rules()
        self.rules = Rules(
            self._decide, small.evolve, small.next_due, small.plan_request, small.plan_holds, small.assessor
        )

    def _decide(self, state: object, command: Command, now: object, facts: object) -> Decided | Refusal:
        if isinstance(command, Tick):
            self.ticks.append(now - START)  # type: ignore[operator]
        return decide(state, command, now, facts)  # type: ignore[arg-type]


def make_engine(heard: Heard, clock: HandClock, log: MemoryEventLog) -> Engine:
    planner = ScriptedPlanner(lambda request: None)
    return Engine(
        rules=heard.rules, log=log, readings=MemoryReadings(), clock=clock, timers=clock.timers, planner=planner
    )


async def settle() -> None:
    for _ in range(5):
        await asyncio.sleep(0.005)


async def test_timer_rings_at_due_instant_of_state() -> None:
    heard, clock, log = Heard(), HandClock(), MemoryEventLog()
    engine = make_engine(heard, clock, log)
    await engine.start()
    await settle()
    heard.ticks.clear()
    await engine.submit(stop("a", until_min=50))
    await engine.submit(stop("b", "oven", until_min=20))
    clock.move(minutes=19)
    await settle()
    assert heard.ticks == []
    clock.move(minutes=1)
    await settle()
    assert heard.ticks == [timedelta(minutes=20)]
    await engine.stop()


async def test_timer_still_due_after_tick_is_looked_at_again_later_not_at_once() -> None:
    heard, clock = Heard(), HandClock()
    engine = make_engine(heard, clock, MemoryEventLog())
    await engine.start()
    await engine.submit(stop("a", until_min=0))
    await settle()
    heard.ticks.clear()
    clock.move(seconds=1)
    await settle()
    assert len(heard.ticks) <= 1
    clock.move(seconds=31)
    await settle()
    assert 1 <= len(heard.ticks) <= 2
    await engine.stop()


async def test_timer_is_armed_anew_from_log_after_restart_and_missed_one_is_caught_up() -> None:
    heard, clock, log = Heard(), HandClock(), MemoryEventLog()
    engine = make_engine(heard, clock, log)
    await engine.start()
    await engine.submit(stop("a", until_min=20))
    await engine.stop()
    clock.move(minutes=30)
    heard.ticks.clear()
    again = make_engine(heard, clock, log)
    await again.start()
    await settle()
    assert heard.ticks == [timedelta(minutes=30)]
    await again.stop()
