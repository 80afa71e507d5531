"""The gateway from many threads, and from the one thread that must not wait."""

import asyncio
import threading
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from orchestrator.core.commands import ImportKitchen
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CommandId, ProbeId
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.questions import InstantsAnswer, InstantsQuestion
from orchestrator.engine import DeskSettings, Engine
from orchestrator.gateway.door import Accepted, Gateway
from orchestrator.gateway.local import LocalGateway
from orchestrator.kitchen.recipe_text import YamlRecipes
from orchestrator.ports.event_log import Reading
from tests.fakes.clocks import START, HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.rules import small_rules, stop

FRIDGE = ProbeId("fridge-air")


class House:
    def __init__(self) -> None:
        self.log, self.store, self.clock = MemoryEventLog(), MemoryReadings(), HandClock()
        self.planner = ScriptedPlanner(lambda request: small_plan(request.kitchen))
        self.engine = Engine(
            rules=small_rules(),
            log=self.log,
            readings=self.store,
            clock=self.clock,
            timers=self.clock.timers,
            planner=self.planner,
            desk=DeskSettings(debounce_s=0.0),
        )
        self.gateway = LocalGateway(
            self.engine,
            self.log,
            self.store,
            asyncio.get_running_loop(),
            recipe_texts=YamlRecipes(),
            broker_url=lambda: "mqtt://127.0.0.1:1883",
        )


@pytest.fixture
async def house() -> AsyncIterator[House]:
    made = House()
    await made.engine.start()
    yield made
    await made.engine.stop()


async def test_submit_from_many_threads_each_gets_its_own_answer(house: House) -> None:
    gateway: Gateway = house.gateway
    with ThreadPoolExecutor(8) as threads:
        loop = asyncio.get_running_loop()
        commands = [stop(f"c{n}", f"m{n}") for n in range(64)]
        outcomes = await asyncio.gather(*(loop.run_in_executor(threads, gateway.submit, c) for c in commands))
    by_id = {record.command_id: record.seq for record in house.log.records}
    assert outcomes == [Accepted(by_id[command.command_id]) for command in commands]
    assert gateway.snapshot().state.seq == 64


async def test_submit_refused_returns_the_refusal(house: House) -> None:
    await asyncio.to_thread(house.gateway.submit, stop("a"))
    refused = await asyncio.to_thread(house.gateway.submit, stop("b"))
    assert isinstance(refused, Refusal)
    assert refused.code is RefusalCode.WRONG_STATE


async def test_submit_from_the_loop_fails_at_once_instead_of_waiting_for_itself(house: House) -> None:
    with pytest.raises(RuntimeError, match="await submit_async"):
        house.gateway.submit(stop("a"))
    assert await house.gateway.submit_async(stop("a")) == Accepted(1)


async def test_submit_not_durable_in_time_raises_and_may_be_sent_again(house: House) -> None:
    may_write = threading.Event()
    house.log.before_append = lambda records: may_write.wait(5) and None
    with pytest.raises(TimeoutError):
        await asyncio.to_thread(house.gateway.submit, stop("a"), 0.05)
    may_write.set()
    assert await asyncio.to_thread(house.gateway.submit, stop("a")) == Accepted(1)
    assert len(house.log.records) == 1


async def test_submit_after_the_end_is_refused(house: House) -> None:
    await house.engine.stop()
    refused = await asyncio.to_thread(house.gateway.submit, stop("a"))
    assert isinstance(refused, Refusal)
    assert refused.code is RefusalCode.UNAVAILABLE


def test_submit_to_a_loop_that_is_closed_is_refused() -> None:
    loop = asyncio.new_event_loop()

    async def make() -> LocalGateway:
        return House().gateway

    gateway = loop.run_until_complete(make())
    loop.close()
    refused = gateway.submit(stop("a"))
    assert isinstance(refused, Refusal)
    assert refused.code is RefusalCode.UNAVAILABLE


async def test_snapshot_is_frozen_and_grows_with_every_change(house: House) -> None:
    before = house.gateway.snapshot()
    await house.gateway.submit_async(stop("a"))
    after = house.gateway.snapshot()
    assert before.state.seq == 0
    assert after.state.seq == 1
    assert after.version > before.version
    assert after.now == START
    assert after.broker_url == "mqtt://127.0.0.1:1883"
    assert not after.practice


async def test_snapshot_shows_facts_and_what_was_turned_away(house: House) -> None:
    await house.gateway.submit_async(ImportKitchen(command_id=CommandId("import"), kitchen=small_kitchen()))
    house.gateway._rejected.by_reason["absurd"] = 3
    house.gateway._rejected.last["absurd"] = "fridge-air: 900 °C"
    await house.engine.on_readings([Reading(FRIDGE, 3.0, START, START)])
    snapshot = house.gateway.snapshot()
    assert snapshot.facts[FRIDGE].celsius == 3.0
    assert snapshot.rejected == {"absurd": 3}
    assert snapshot.rejected_last == {"absurd": "fridge-air: 900 °C"}


async def test_readings_and_history_read_what_was_kept(house: House) -> None:
    for n in range(5):
        await house.gateway.submit_async(stop(f"c{n}", f"m{n}"))
    await house.engine.on_readings([Reading(FRIDGE, 3.0, START, START)])
    assert [r.seq for r in house.gateway.history(after=1, limit=3)] == [2, 3, 4]
    readings = house.gateway.readings(FRIDGE, START - timedelta(hours=1), START)
    assert [r.celsius for r in readings] == [3.0]


async def test_on_change_calls_back_in_the_loop_until_stopped(house: House) -> None:
    threads: list[int] = []
    unfollow = house.gateway.on_change(lambda: threads.append(threading.get_ident()))
    await asyncio.to_thread(house.gateway.submit, stop("a"))
    await asyncio.sleep(0.01)
    assert set(threads) == {threading.get_ident()}
    unfollow()
    unfollow()
    threads.clear()
    await asyncio.to_thread(house.gateway.submit, stop("b", "oven"))
    await asyncio.sleep(0.01)
    assert threads == []


async def test_ask_from_a_thread_gets_the_planners_answer_or_a_refusal_that_says_why(house: House) -> None:
    question = InstantsQuestion(request=PlanRequest(kitchen=small_kitchen(), now=START), plan=small_plan(), until=START)
    refused = await asyncio.to_thread(house.gateway.ask, question)
    assert isinstance(refused, Refusal)
    assert (refused.code, refused.status) == (RefusalCode.UNAVAILABLE, "no answer was written down to 'instants'")
    house.planner.answers["instants"] = InstantsAnswer(complete=False)
    assert await asyncio.to_thread(house.gateway.ask, question) == InstantsAnswer(complete=False)
    assert house.planner.questions == [question, question]


async def test_ask_on_the_loop_itself_is_refused_at_once(house: House) -> None:
    question = InstantsQuestion(request=PlanRequest(kitchen=small_kitchen(), now=START), plan=small_plan(), until=START)
    with pytest.raises(RuntimeError, match="its own loop"):
        house.gateway.ask(question)
