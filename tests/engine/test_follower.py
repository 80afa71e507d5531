"""What a display shows of a kitchen that another process writes: never older than it looks, and nothing on record."""

import asyncio
import json
import time
from collections.abc import AsyncIterator, Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.commands import COMMANDS, AskReplan, Command
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import State
from orchestrator.engine import follower as following
from orchestrator.engine.follower import Follower
from orchestrator.ports.event_log import LogUnavailable, Reading
from orchestrator.ports.relay import WriterSays
from tests.engine.test_with_core import House
from tests.fakes.clocks import HandClock
from tests.fakes.event_logs import MemoryEventLog
from tests.fakes.planners import ScriptedPlanner

FRIDGE = ProbeId("fridge-air")


class MemoryRelay:
    """Implements `ports.relay.Relay`; `handed` is what displays put down."""

    def __init__(self) -> None:
        self.handed: list[Command] = []

    def hand_in(self, command_id: str, body: str) -> None:
        self.handed.append(COMMANDS.validate_json(body))

    def outcome(self, command_id: str) -> str:
        return '{"seq": 0}' if any(one.command_id == command_id for one in self.handed) else ""

    def waiting(self) -> Sequence[tuple[str, str]]:
        return ()

    def answer(self, command_id: str, outcome: str) -> None:
        raise AssertionError("a display answers nobody")

    def say(self, said: WriterSays) -> None:
        raise AssertionError("a display does not speak for the writer")

    def heard(self) -> tuple[float, WriterSays]:
        return 0.0, WriterSays()

    def close(self) -> None:
        pass


class Display:
    """A display beside a writer that has recorded the small kitchen and its plan."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.clock = HandClock(house.clock.now())
        self.relay = MemoryRelay()
        self.broken: Exception | None = None
        self.follower = Follower(
            rules=replace(core_rules(), evolve=self._evolve),
            log=house.log,
            readings=house.store,
            clock=self.clock,
            planner=ScriptedPlanner(lambda request: None),
            relay=self.relay,
        )

    def _evolve(self, state: State, record: Recorded) -> State:
        if self.broken is not None:
            raise self.broken
        return core_rules().evolve(state, record)

    async def until_linked(self, linked: bool) -> None:
        async with asyncio.timeout(10):
            while self.follower.picture.linked is not linked:
                await asyncio.sleep(0.01)


@pytest.fixture
async def display(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Display]:
    for name in ("_LOOKS_EVERY_S", "_READS_EVERY_S", "_LISTENS_EVERY_S"):
        monkeypatch.setattr(following, name, 0.01)
    made = Display(await House(MemoryEventLog()).open())
    await made.follower.start()
    running = asyncio.create_task(made.follower.run())
    yield made
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)
    await made.follower.stop()
    await made.house.engine.stop()


async def test_probe_that_falls_silent_is_said_to_be_though_nothing_comes(display: Display) -> None:
    at = display.clock.now()
    display.house.store.add([Reading(FRIDGE, 3.0, at, at)])
    display.clock.move(seconds=1)
    async with asyncio.timeout(10):
        while (fact := display.follower.picture.facts.get(FRIDGE)) is None or fact.celsius != 3.0:
            await asyncio.sleep(0.01)
    assert fact.silent_since is None
    display.clock.move(hours=2)
    async with asyncio.timeout(10):
        while display.follower.picture.facts[FRIDGE].silent_since is None:
            await asyncio.sleep(0.01)
    assert display.follower.picture.now == at + timedelta(hours=2, seconds=1), "no screen keeps an old hour"
    assert display.relay.handed == [], "what it means is put on record by the writer alone"


async def test_readings_are_followed_on_at_once_after_the_clock_was_set_back(display: Display) -> None:
    async def shown(celsius: float) -> ProbeFact:
        async with asyncio.timeout(10):
            while (fact := display.follower.picture.facts.get(FRIDGE)) is None or fact.celsius != celsius:
                await asyncio.sleep(0.01)
        return fact

    at = display.clock.now()
    display.house.store.add([Reading(FRIDGE, 3.0, at, at)])
    await shown(3.0)
    display.clock.set_back(hours=1)
    await asyncio.sleep(0.1)
    display.clock.move(minutes=3)
    at = display.clock.now()
    display.house.store.add([Reading(FRIDGE, 9.5, at, at)])
    assert (await shown(9.5)).measured_at == at


@pytest.mark.parametrize("hindered", [False, True])
async def test_whoever_acted_sees_it_as_soon_as_it_is_answered(display: Display, hindered: bool) -> None:
    """Also where readings, or the writer's word, take their time or cannot be had after the log was read."""
    await display.until_linked(True)
    heard = display.relay.heard

    def slowly() -> tuple[float, WriterSays]:
        time.sleep(0.2)
        if hindered:
            raise LogUnavailable("a table")
        return heard()

    display.relay.heard = slowly  # type: ignore[method-assign]
    await display.until_linked(not hindered)
    wish = AskReplan(command_id=CommandId("again"), reason="tried", person="early-cook")
    seq = await display.house.engine.submit(wish)
    display.relay.outcome = lambda _: json.dumps({"seq": seq})  # type: ignore[method-assign]
    assert await asyncio.wait_for(display.follower.submit(wish), 10) == seq
    assert display.follower.picture.state.seq == seq


@pytest.mark.parametrize("fault", [KeyError("a field of tomorrow"), LogUnavailable("a disk")])
async def test_display_that_cannot_follow_says_so_and_goes_on_when_it_can(display: Display, fault: Exception) -> None:
    await display.until_linked(True)
    display.broken = fault
    await display.house.engine.submit(AskReplan(command_id=CommandId("again"), reason="tried", person="early-cook"))
    await display.until_linked(False)
    assert display.follower.picture.trouble != ""
    display.broken = None
    await display.until_linked(True)
    async with asyncio.timeout(10):
        while display.follower.picture.state.seq < display.house.log.records[-1].seq:
            await asyncio.sleep(0.01)
    assert display.follower.picture.trouble == ""
