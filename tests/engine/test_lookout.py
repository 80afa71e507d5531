"""The lookout: asks for last instants when they may be new, never while a plan is made, and puts them on record."""

import asyncio
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.core.commands import AskReplan, ImportKitchen
from orchestrator.core.events import InstantsFound
from orchestrator.core.ids import CommandId, TaskId
from orchestrator.core.models import Kitchen, Maintenance
from orchestrator.core.models.questions import InstantsAnswer, InstantsQuestion, LatestStart
from orchestrator.engine import DeskSettings, Engine
from orchestrator.engine.lookout import Looked, worth_it
from tests.fakes.clocks import START, HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import at, small_kitchen, with_machine
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.rules import small_rules, stop

SETTINGS = DeskSettings(seconds=30, debounce_s=0.0, first_retry_s=0.01)
FOUND = InstantsAnswer(starts=(LatestStart(task=TaskId("C1.cook"), at=at("Wed 09:00"), exact=True),))


AWAY = frozenset({"churn"})


class House:
    """An engine with a kitchen and a planner that knows last instants."""

    def __init__(self, settings: DeskSettings = SETTINGS, kitchen: Kitchen | None = None) -> None:
        self.kitchen = kitchen or small_kitchen()
        self.log, self.clock = MemoryEventLog(), HandClock(START)
        self.planner = ScriptedPlanner(lambda request: small_plan(request.kitchen))
        self.planner.answers["instants"] = FOUND
        self.engine = Engine(
            rules=small_rules(),
            log=self.log,
            readings=MemoryReadings(),
            clock=self.clock,
            timers=self.clock.timers,
            planner=self.planner,
            desk=settings,
        )

    async def open(self) -> None:
        await self.engine.start()
        await self.engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=self.kitchen))
        await until(lambda: self.engine.picture.state.plan is not None and not self.engine.picture.planning)

    @property
    def asked(self) -> list[str]:
        """Which part each question was about."""
        return [q.part for q in self.planner.questions if isinstance(q, InstantsQuestion)]

    @property
    def found(self) -> list[InstantsFound]:
        return [r.event for r in self.log.records if isinstance(r.event, InstantsFound)]


@pytest.fixture
async def house() -> AsyncIterator[House]:
    made = House()
    yield made
    await made.engine.stop()


async def until(condition: Callable[[], bool]) -> None:
    async with asyncio.timeout(5):
        while not condition():
            await asyncio.sleep(0.005)


async def nothing_more(house: House) -> None:
    """Whatever could have been asked by now has been."""
    house.engine.touch()
    await asyncio.sleep(0.05)


async def test_lookout_asks_after_an_adoption_and_puts_what_was_found_on_record(house: House) -> None:
    await house.open()
    await until(lambda: house.engine.picture.state.instants is not None)
    assert (house.found[0].revision, house.found[0].starts) == (1, FOUND.starts)
    state = house.engine.picture.state
    assert state.instants is not None
    assert state.instants.starts == {"C1.cook": FOUND.starts[0]}
    question = house.planner.questions[0]
    assert isinstance(question, InstantsQuestion)
    assert (question.plan, question.until) == (state.plan, START + timedelta(hours=4))
    await until(lambda: len(house.found) == 2)
    await nothing_more(house)
    assert house.asked == ["near", "far"]
    assert [found.returns for found in house.found] == [(), None]


async def test_lookout_asks_again_about_what_is_near_when_a_task_comes_near(house: House) -> None:
    await house.open()
    await until(lambda: house.engine.picture.state.instants is not None)
    tasks = small_plan().tasks
    await until(lambda: len(house.asked) == 2)
    later = min(t.start for t in tasks if t.kind == "work" and t.start > START + timedelta(hours=4))
    house.clock.move(seconds=(later - START).total_seconds() - 4 * 3600)
    house.engine.touch()
    await until(lambda: len(house.asked) == 3)
    assert house.asked == ["near", "far", "near"]


async def test_lookout_asks_again_when_a_machine_stops(house: House) -> None:
    await house.open()
    await until(lambda: house.engine.picture.state.instants is not None)
    await until(lambda: len(house.asked) == 2)
    await house.engine.submit(stop("s1"))
    await until(lambda: len(house.asked) == 3)
    assert house.asked[2] == "near"


def looked(after_min: int, seq: int = 7, machines: frozenset[str] = frozenset()) -> Looked:
    """What is known some minutes after the start."""
    return Looked(1, seq, START + timedelta(minutes=after_min), frozenset(), machines)


@pytest.mark.parametrize(
    ("last", "seen", "worth"),
    [
        (looked(0), looked(16), False),  # nobody has done anything
        (looked(0), looked(14, seq=8), False),  # people have, but not for long
        (looked(0), looked(15, seq=8), True),
        (looked(0, machines=AWAY), looked(14, machines=AWAY), False),
        (looked(0, machines=AWAY), looked(15, machines=AWAY), True),  # what could have gone before it is past
        (looked(0), looked(1, machines=AWAY), True),
    ],
)
def test_lookout_looks_again_when_what_it_found_may_hold_no_longer(last: Looked, seen: Looked, worth: bool) -> None:
    assert worth_it(last, seen) is worth


async def test_lookout_asks_again_when_maintenance_comes_near() -> None:
    away = Maintenance(start=START + timedelta(hours=5), end=START + timedelta(hours=6), why="new blade")
    house = House(kitchen=with_machine(small_kitchen(), "churn", maintenance=(away,)))
    try:
        await house.open()
        await until(lambda: len(house.asked) == 2)
        house.clock.move(seconds=61 * 60)
        house.engine.touch()
        await until(lambda: len(house.asked) == 3)
        assert house.asked[2] == "near"
    finally:
        await house.engine.stop()


async def test_lookout_is_cancelled_by_a_plan_and_asks_anew_after_it(house: House) -> None:
    house.planner.ready.clear()
    await house.open()
    await until(lambda: house.asked == ["near"])
    house.planner.hold()
    await house.engine.submit(AskReplan(command_id=CommandId("again"), reason="late"))
    await until(lambda: house.planner.dropped == 1)
    await nothing_more(house)
    assert house.asked == ["near"]
    house.planner.ready.set()
    house.planner.let_go()
    await until(lambda: house.engine.picture.state.instants is not None)
    assert house.found[0].revision == house.engine.picture.state.revision == 2


async def test_lookout_incomplete_answer_is_not_put_on_record(house: House) -> None:
    house.planner.answers["instants"] = FOUND.model_copy(update={"complete": False})
    await house.open()
    await until(lambda: len(house.asked) == 2)
    await nothing_more(house)
    assert house.found == []


async def test_lookout_can_be_left_out() -> None:
    house = House(replace(SETTINGS, instants=False))
    await house.open()
    await nothing_more(house)
    assert house.asked == []
    await house.engine.stop()
