"""The fast clock: its arithmetic exactly, and its timers when it changes under them."""

import asyncio
from datetime import timedelta

import pytest

from orchestrator.adapters.scaled_clock import ScaledClock, ScaledTimers
from tests.fakes.clocks import START


class Ticks:
    """A monotonic clock moved by hand."""

    def __init__(self) -> None:
        self.at = 100.0

    def __call__(self) -> float:
        return self.at


def test_clock_runs_at_its_rate_and_keeps_its_time_when_that_changes() -> None:
    ticks = Ticks()
    clock = ScaledClock(START, 60.0, ticks)
    ticks.at += 10
    assert clock.now() == START + timedelta(minutes=10)
    clock.set_rate(0)
    ticks.at += 1000
    assert clock.now() == START + timedelta(minutes=10)
    assert clock.rate == 0
    clock.set_rate(1)
    ticks.at += 5
    assert clock.now() == START + timedelta(minutes=10, seconds=5)


def test_clock_jumps_forward_only() -> None:
    ticks = Ticks()
    clock = ScaledClock(START, 1.0, ticks)
    clock.jump(START + timedelta(hours=3))
    ticks.at += 1
    assert clock.now() == START + timedelta(hours=3, seconds=1)
    with pytest.raises(ValueError, match="already past"):
        clock.jump(START)


@pytest.mark.parametrize("rate", [-1.0, float("nan"), float("inf")])
def test_clock_impossible_rate_is_refused(rate: float) -> None:
    with pytest.raises(ValueError, match="a clock cannot run at"):
        ScaledClock(START, rate)


async def test_timer_paused_does_not_ring_until_clock_goes_on() -> None:
    clock, rung = ScaledClock(START, 0.0), []
    timers = ScaledTimers(clock, lambda: rung.append(clock.now()))
    timers.arm(START + timedelta(minutes=1))
    await asyncio.sleep(0.05)
    assert rung == []
    clock.set_rate(6000)
    await asyncio.sleep(0.05)
    timers.close()
    assert len(rung) == 1


async def test_timer_jump_past_instant_rings_at_once_even_when_paused() -> None:
    clock, rung = ScaledClock(START, 0.0), []
    timers = ScaledTimers(clock, lambda: rung.append(clock.now()))
    timers.arm(START + timedelta(days=1))
    clock.jump(START + timedelta(days=2))
    await asyncio.sleep(0.02)
    timers.close()
    assert rung == [START + timedelta(days=2)]


async def test_timer_follows_changes_made_in_other_threads() -> None:
    clock, rung = ScaledClock(START, 1.0), []
    timers = ScaledTimers(clock, lambda: rung.append(clock.now()))
    timers.arm(START + timedelta(hours=1))
    await asyncio.to_thread(clock.set_rate, 360_000.0)
    await asyncio.sleep(0.05)
    timers.close()
    assert len(rung) == 1


def test_clock_stands_where_its_grant_ends_and_makes_up_for_nothing() -> None:
    ticks = Ticks()
    clock = ScaledClock(START, 60.0, ticks)
    clock.grant(START + timedelta(minutes=4))
    ticks.at += 1000
    assert clock.now() == START + timedelta(minutes=4)
    clock.grant(START + timedelta(minutes=8))
    assert clock.now() == START + timedelta(minutes=4)
    ticks.at += 2
    assert clock.now() == START + timedelta(minutes=6)
    clock.jump(START + timedelta(hours=1))
    ticks.at += 1000
    assert clock.now() == START + timedelta(hours=1)
