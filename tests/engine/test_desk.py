"""The planning desk: repair first when the plan is broken, one question at a time, retries that show."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from orchestrator.core.commands import AskReplan, ImportKitchen
from orchestrator.core.events import PlanAdopted
from orchestrator.core.ids import CommandId
from orchestrator.core.state import State
from orchestrator.engine import DeskSettings, Engine
from tests.fakes.clocks import START, HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.rules import small_rules

FAST = DeskSettings(seconds=30, debounce_s=0.005, first_retry_s=0.01, longest_retry_s=0.05)


class Checker:
    """A checker that finds what it is told to find."""

    def __init__(self) -> None:
        self.fails = False

    def __call__(self, state: State, now: datetime) -> bool:
        return not self.fails


class Desk:
    """An engine with a kitchen, a scripted planner and a checker."""

    def __init__(self, settings: DeskSettings = FAST) -> None:
        self.log = MemoryEventLog()
        self.planner = ScriptedPlanner(lambda request: small_plan(request.kitchen))
        self.check = Checker()
        clock = HandClock(START)
        self.engine = Engine(
            rules=small_rules(self.check),
            log=self.log,
            readings=MemoryReadings(),
            clock=clock,
            timers=clock.timers,
            planner=self.planner,
            desk=settings,
        )

    async def open(self) -> "Desk":
        await self.engine.start()
        await self.engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=small_kitchen()))
        await self.quiet()
        return self

    async def ask(self, name: str) -> None:
        await self.engine.submit(AskReplan(command_id=CommandId(name), reason=name))

    async def quiet(self) -> None:
        async with asyncio.timeout(5):
            await asyncio.sleep(0.03)
            while self.engine.picture.planning:
                await asyncio.sleep(0.01)

    def adopted(self) -> list[bool]:
        """Whether each adopted plan was provisional."""
        return [r.event.provisional for r in self.log.records if isinstance(r.event, PlanAdopted)]


async def until(condition: Callable[[], bool]) -> None:
    async with asyncio.timeout(5):
        while not condition():
            await asyncio.sleep(0.005)


async def test_desk_first_plan_is_a_full_one() -> None:
    desk = await Desk().open()
    assert desk.planner.asked == ["full"]
    assert desk.adopted() == [False]
    assert desk.engine.picture.state.plan is not None
    await desk.engine.stop()


async def test_desk_first_plan_fails_a_quick_one_is_better_than_none() -> None:
    desk = Desk()
    desk.planner.fail_next = 1
    await desk.open()
    async with asyncio.timeout(5):
        while len(desk.adopted()) < 2:
            await asyncio.sleep(0.01)
    assert desk.planner.asked == ["full", "repair", "full"]
    assert desk.adopted() == [True, False]
    await desk.engine.stop()


async def test_desk_plan_that_fails_the_check_is_repaired_first() -> None:
    desk = await Desk().open()
    desk.planner.asked.clear()
    desk.check.fails = True
    await desk.ask("churn stopped")
    await desk.quiet()
    assert desk.planner.asked == ["repair", "full"]
    assert desk.adopted() == [False, True, False]
    await desk.engine.stop()


async def test_desk_valid_plan_asks_only_for_full() -> None:
    desk = await Desk().open()
    desk.planner.asked.clear()
    await desk.ask("late")
    await desk.quiet()
    assert desk.planner.asked == ["full"]
    await desk.engine.stop()


async def test_desk_several_wishes_at_once_are_one_question() -> None:
    desk = await Desk().open()
    desk.planner.asked.clear()
    await asyncio.gather(*(desk.ask(f"w{n}") for n in range(8)))
    await desk.quiet()
    assert desk.planner.asked == ["full"]
    await desk.engine.stop()


async def test_desk_wish_while_planning_stops_the_outdated_search_and_asks_anew() -> None:
    desk = await Desk().open()
    desk.planner.asked.clear()
    desk.planner.hold()
    await desk.ask("one")
    await until(lambda: desk.planner.asked == ["full"])
    await asyncio.gather(desk.ask("two"), desk.ask("three"))
    await until(lambda: desk.planner.asked == ["full", "full"])
    assert desk.engine.picture.planning
    assert desk.planner.cancelled == 1
    desk.planner.let_go()
    await desk.quiet()
    assert desk.planner.asked == ["full", "full"]
    await desk.engine.stop()


async def test_desk_wish_when_the_search_is_half_done_waits_for_the_answer_then_asks_once() -> None:
    desk = Desk(replace(FAST, seconds=0.0))
    await desk.open()
    desk.planner.asked.clear()
    desk.planner.hold()
    await desk.ask("one")
    await until(lambda: desk.planner.asked == ["full"])
    await asyncio.gather(desk.ask("two"), desk.ask("three"))
    await asyncio.sleep(0.03)
    assert desk.planner.asked == ["full"]
    desk.planner.let_go()
    await desk.quiet()
    assert desk.planner.asked == ["full", "full"]
    assert desk.planner.cancelled == 0
    await desk.engine.stop()


async def test_desk_plan_breaks_while_planning_drops_question_and_repairs() -> None:
    desk = await Desk(replace(FAST, seconds=0.0)).open()
    desk.planner.asked.clear()
    desk.planner.hold()
    await desk.ask("one")
    await until(lambda: desk.planner.asked == ["full"])
    desk.check.fails = True
    await desk.ask("broken")
    await until(lambda: len(desk.planner.asked) == 3)
    assert desk.planner.cancelled == 1
    assert desk.planner.asked == ["full", "repair", "full"]
    desk.check.fails = False
    desk.planner.let_go()
    await desk.quiet()
    await desk.engine.stop()


async def test_desk_search_that_was_dropped_twice_goes_on_while_a_repair_is_made() -> None:
    desk = await Desk().open()
    desk.planner.asked.clear()
    desk.planner.hold()
    for n in range(3):
        await desk.ask(f"w{n}")
        await until(lambda: desk.planner.asked.count("full") == n + 1)  # noqa: B023
    provisional = desk.adopted().count(True)
    desk.check.fails = True
    await desk.ask("broken")
    await until(lambda: desk.adopted().count(True) > provisional)
    assert (desk.planner.asked, desk.planner.cancelled) == (["full", "full", "full", "repair"], 2)
    desk.check.fails = False
    desk.planner.let_go()
    await desk.quiet()
    await desk.engine.stop()


async def test_desk_better_plan_found_on_the_way_is_shown_while_the_search_goes_on() -> None:
    desk = await Desk().open()
    desk.planner.hold()
    desk.planner.better = 2
    await desk.ask("one")
    await until(lambda: desk.engine.picture.better_plans == 1)
    assert desk.engine.picture.planning
    desk.planner.let_go()
    await desk.quiet()
    assert desk.engine.picture.better_plans == 0
    await desk.engine.stop()


async def test_desk_facts_that_never_rest_cannot_starve_the_full_plan() -> None:
    desk = await Desk().open()
    adopted = desk.adopted().count(False)
    desk.check.fails = True
    desk.planner.hold()
    for n in range(12):
        await desk.ask(f"w{n}")
        await asyncio.sleep(0.03)
    assert desk.planner.cancelled <= 2
    desk.planner.let_go()
    await desk.quiet()
    assert desk.adopted().count(False) > adopted
    await desk.engine.stop()


async def test_desk_planner_fails_is_shown_and_asked_again() -> None:
    desk = await Desk().open()
    desk.planner.fail_next = 2
    desk.planner.asked.clear()
    troubles: set[str] = set()
    desk.engine.follow(lambda: troubles.add(desk.engine.picture.trouble))
    await desk.ask("late")
    async with asyncio.timeout(5):
        while len(desk.planner.asked) < 3:
            await asyncio.sleep(0.01)
    await desk.quiet()
    assert desk.planner.asked == ["full", "full", "full"]
    assert "no new plan: its process ended before it answered" in troubles
    assert desk.engine.picture.trouble == ""
    assert desk.engine.picture.linked
    await desk.engine.stop()


async def test_desk_restart_with_wish_open_asks_again() -> None:
    desk = await Desk().open()
    desk.planner.hold()
    await desk.ask("late")
    await desk.engine.stop()
    clock, planner = HandClock(), ScriptedPlanner(lambda request: small_plan(request.kitchen))
    again = Engine(
        rules=small_rules(),
        log=desk.log,
        readings=MemoryReadings(),
        clock=clock,
        timers=clock.timers,
        planner=planner,
        desk=FAST,
    )
    await again.start()
    async with asyncio.timeout(5):
        while not planner.asked:
            await asyncio.sleep(0.01)
    assert planner.asked == ["full"]
    await again.stop()
