"""The computer's clock is set, in either direction, while the service runs and while it is off: the record says so."""

import asyncio
import time
from pathlib import Path

import pytest

from orchestrator.bootstrap import Hooks, Settings, System, build
from orchestrator.bootstrap.clock_record import ClockRecord
from orchestrator.core.clock_commands import RecordClock
from orchestrator.core.clock_events import ClockSet
from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.engine.inbox import Answer
from tests.bootstrap.test_system import EXAMPLE
from tests.fakes.clocks import START, HandClock
from tests.fakes.planners import ScriptedPlanner

FULL = Refusal(code=RefusalCode.UNAVAILABLE, thing="event log", status="disk full", remedy="make room")


async def settled(record: ClockRecord) -> None:
    record.settle()
    while record._settling is not None and not record._settling.done():
        await asyncio.sleep(0)


async def test_what_cannot_be_written_is_kept_and_written_once() -> None:
    handed: list[RecordClock] = []
    answers: list[Answer] = [FULL, 7, 8]

    async def submit(command: Command) -> Answer:
        assert isinstance(command, RecordClock)
        handed.append(command)
        return answers.pop(0)

    record = ClockRecord(submit)
    for seconds in (-3600.04, 4.9, 90.0):
        record.moved(seconds)
    for _ in range(3):
        await settled(record)
    assert [one.seconds for one in handed] == [-3600.0, -3600.0, 90.0], "a second or two shifts no minute"
    assert handed[0].command_id == handed[1].command_id != handed[2].command_id


def system(folder: Path, clock: HandClock) -> System:
    hooks = Hooks(clock=clock, timers=clock.timers, planner=ScriptedPlanner(lambda request: None), web=False)
    return build(Settings(data=folder, kitchen=EXAMPLE, broker="none"), hooks)


async def found(running: System, many: int) -> list[tuple[float, bool]]:
    async with asyncio.timeout(60):
        while len(sets := [r.event for r in running.gateway.history(0, 500) if isinstance(r.event, ClockSet)]) < many:
            await asyncio.sleep(0.05)
    return [(round(one.seconds, -1), one.while_away) for one in sets]


async def test_clock_set_while_the_service_runs_or_is_off_is_on_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("orchestrator.bootstrap.self_watch._LOOKS_EVERY_S", 0.05)
    first = system(tmp_path, HandClock(START))
    await first.start()
    try:
        for number, by_s in enumerate((-3600.0, 120.0), start=1):
            monkeypatch.setattr(first.watch, "_wall", lambda by=by_s: time.time() + by)
            told = await found(first, number)
        assert told == [(-3600.0, False), (3720.0, False)]
    finally:
        await first.stop()
    again = system(tmp_path, HandClock(START.replace(hour=START.hour - 1)))
    await again.start()
    try:
        assert (await found(again, 3))[-1] == (-3600.0, True)
    finally:
        await again.stop()
