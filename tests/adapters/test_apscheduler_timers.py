"""What a stepped wall clock does to the timer of a real kitchen: nothing bad."""

import asyncio
import time
from datetime import UTC, datetime, timedelta, tzinfo

import apscheduler.schedulers.base as scheduler_base
import pytest

from orchestrator.adapters.apscheduler_timers import ApschedulerTimers


class SteppedClock:
    """The wall clock as APScheduler and the tick see it, ahead of the real one by ``ahead_s``."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.ahead_s = 0.0
        clock = self

        class Stepped(datetime):
            @classmethod
            def now(cls, tz: tzinfo | None = None) -> "Stepped":
                shifted = datetime.now(tz or UTC) + timedelta(seconds=clock.ahead_s)
                return cls.fromtimestamp(shifted.timestamp(), tz or UTC)

        monkeypatch.setattr(scheduler_base, "datetime", Stepped)

    def wall(self) -> float:
        return time.time() + self.ahead_s

    def now(self) -> datetime:
        return datetime.fromtimestamp(self.wall(), UTC)


async def _until_it_rings(rung: list[datetime]) -> None:
    """However busy the machine is."""
    async with asyncio.timeout(30):
        while not rung:
            await asyncio.sleep(0.02)


async def test_timer_clock_stepped_forward_past_instant_rings(monkeypatch: pytest.MonkeyPatch) -> None:
    clock, rung = SteppedClock(monkeypatch), []
    timers = ApschedulerTimers(lambda: rung.append(clock.now()), wall=clock.wall, tick_s=0.05)
    timers.arm(clock.now() + timedelta(hours=1))
    await asyncio.sleep(0.1)
    assert rung == []
    clock.ahead_s = 2 * 3600
    await _until_it_rings(rung)
    timers.close()
    assert len(rung) == 1


async def test_timer_clock_stepped_back_does_not_ring_early(monkeypatch: pytest.MonkeyPatch) -> None:
    clock, rung = SteppedClock(monkeypatch), []
    timers = ApschedulerTimers(lambda: rung.append(clock.now()), wall=clock.wall, tick_s=0.05)
    due = clock.now() + timedelta(seconds=0.3)
    timers.arm(due)
    await asyncio.sleep(0.05)
    clock.ahead_s = -60.0
    await asyncio.sleep(0.5)
    assert rung == []
    clock.ahead_s = 1.0
    await _until_it_rings(rung)
    timers.close()
    assert len(rung) == 1
    assert rung[0] >= due


async def test_timer_armed_for_a_span_does_not_mind_a_clock_that_is_set_back(monkeypatch: pytest.MonkeyPatch) -> None:
    clock, rung = SteppedClock(monkeypatch), []
    timers = ApschedulerTimers(lambda: rung.append(clock.now()), wall=clock.wall, tick_s=0.05)
    timers.arm_in(timedelta(seconds=0.3))
    await asyncio.sleep(0.1)
    clock.ahead_s = -3600
    await asyncio.sleep(0.6)
    timers.close()
    assert len(rung) == 1


async def test_timer_drifting_slowly_is_not_taken_for_a_step(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    clock = SteppedClock(monkeypatch)
    timers = ApschedulerTimers(lambda: None, wall=clock.wall, tick_s=0.02)
    for _ in range(5):
        clock.ahead_s += 0.1
        await asyncio.sleep(0.03)
    timers.close()
    assert "clock was set" not in caplog.text
