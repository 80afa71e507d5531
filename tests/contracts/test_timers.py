"""Every timer keeps this contract: APScheduler's, the fast clock's, and the fake moved by hand."""

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime, timedelta
from typing import Protocol

import pytest

from orchestrator.adapters.apscheduler_timers import ApschedulerTimers
from orchestrator.adapters.scaled_clock import ScaledClock, ScaledTimers
from orchestrator.adapters.system_clock import SystemClock
from orchestrator.ports.clock import Clock, Timers
from tests.fakes.clocks import START, HandClock


class Bench(Protocol):
    """A clock with its timers, and a way to let real or pretended time pass."""

    clock: Clock
    unit: timedelta

    def timers(self, callback: Callable[[], None]) -> Timers: ...

    async def wait(self, units: float) -> None: ...


class RealBench:
    unit = timedelta(milliseconds=60)

    def __init__(self) -> None:
        self.clock = SystemClock()

    def timers(self, callback: Callable[[], None]) -> Timers:
        return ApschedulerTimers(callback)

    async def wait(self, units: float) -> None:
        await asyncio.sleep(self.unit.total_seconds() * units)


class ScaledBench:
    unit = timedelta(minutes=1)

    def __init__(self) -> None:
        self.clock = ScaledClock(START, rate=1000.0)

    def timers(self, callback: Callable[[], None]) -> Timers:
        assert isinstance(self.clock, ScaledClock)
        return ScaledTimers(self.clock, callback)

    async def wait(self, units: float) -> None:
        await asyncio.sleep(self.unit.total_seconds() * units / 1000.0)


class HandBench:
    unit = timedelta(minutes=1)

    def __init__(self) -> None:
        self.clock = HandClock()

    def timers(self, callback: Callable[[], None]) -> Timers:
        assert isinstance(self.clock, HandClock)
        return self.clock.timers(callback)

    async def wait(self, units: float) -> None:
        assert isinstance(self.clock, HandClock)
        self.clock.move(minutes=units)


class Armed:
    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.rung: list[datetime] = []
        self.on_ring: Callable[[], None] = lambda: None
        self.timers = bench.timers(self._ring)

    def _ring(self) -> None:
        self.rung.append(self.bench.clock.now())
        self.on_ring()

    def in_units(self, units: float) -> datetime:
        return self.bench.clock.now() + self.bench.unit * units


@pytest.fixture(params=[RealBench, ScaledBench, HandBench])
async def armed(request: pytest.FixtureRequest) -> AsyncIterator[Armed]:
    made = Armed(request.param())
    yield made
    made.timers.close()
    await asyncio.sleep(0)


async def test_timer_rings_once_not_before_its_instant(armed: Armed) -> None:
    due = armed.in_units(1)
    armed.timers.arm(due)
    await armed.bench.wait(3)
    assert len(armed.rung) == 1
    assert armed.rung[0] >= due


async def test_timer_armed_anew_forgets_the_old_instant(armed: Armed) -> None:
    armed.timers.arm(armed.in_units(1))
    later = armed.in_units(3)
    armed.timers.arm(later)
    await armed.bench.wait(5)
    assert len(armed.rung) == 1
    assert armed.rung[0] >= later


async def test_timer_armed_for_never_stays_silent(armed: Armed) -> None:
    armed.timers.arm(armed.in_units(1))
    armed.timers.arm(None)
    armed.timers.arm(None)
    await armed.bench.wait(3)
    assert armed.rung == []


async def test_timer_armed_for_the_past_rings_at_once(armed: Armed) -> None:
    armed.timers.arm(armed.in_units(-500))
    await armed.bench.wait(1)
    assert len(armed.rung) == 1


async def test_timer_armed_while_ringing_rings_again(armed: Armed) -> None:
    def again() -> None:
        if len(armed.rung) < 4:
            armed.timers.arm(armed.in_units(-1))

    armed.on_ring = again
    armed.timers.arm(armed.in_units(1))
    await armed.bench.wait(4)
    assert len(armed.rung) == 4


async def test_timer_armed_for_a_span_rings_once_after_it(armed: Armed) -> None:
    begun = armed.bench.clock.now()
    armed.timers.arm(armed.in_units(1))
    armed.timers.arm_in(armed.bench.unit * 2)
    await armed.bench.wait(4)
    assert len(armed.rung) == 1
    assert armed.rung[0] - begun >= armed.bench.unit * 1.9


async def test_timer_armed_for_an_instant_forgets_its_span(armed: Armed) -> None:
    armed.timers.arm_in(armed.bench.unit)
    armed.timers.arm(None)
    await armed.bench.wait(3)
    assert armed.rung == []


async def test_timer_closed_never_rings(armed: Armed) -> None:
    armed.timers.arm(armed.in_units(1))
    armed.timers.close()
    armed.timers.arm(armed.in_units(1))
    await armed.bench.wait(3)
    assert armed.rung == []


async def test_timer_late_because_loop_was_busy_still_rings(armed: Armed) -> None:
    armed.timers.arm(armed.in_units(1))
    await asyncio.sleep(0)
    # With APScheduler's own grace of 1 s a stall of 2 s loses it; with None none is. A hand-moved clock does not mind.
    time.sleep(0.3)
    await armed.bench.wait(1)
    assert len(armed.rung) == 1


@pytest.mark.parametrize("clock", [SystemClock(), ScaledClock(START, 10.0), HandClock()])
def test_clock_tells_aware_utc_and_its_rate(clock: Clock) -> None:
    assert clock.now().tzinfo is UTC
    assert clock.rate >= 0
    assert clock.now() <= clock.now()
