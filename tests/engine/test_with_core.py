"""The engine with core's own rules: a cook's acts through the writer, alarms by the timer, and a restart."""

import asyncio
from datetime import timedelta

import pytest

from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.commands import FinishTask, ImportKitchen, StartTask
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId, TaskId
from orchestrator.core.models import TaskKind
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.state import TaskStatus
from orchestrator.engine import DeskSettings, Engine
from tests.fakes.clocks import HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan


class House:
    """The small kitchen, planned by hand, under core's rules."""

    def __init__(self, log: MemoryEventLog, store: MemoryReadings | None = None) -> None:
        self.log = log
        self.store = store or MemoryReadings()
        self.clock = HandClock(small_kitchen().planning_start)
        self.engine = Engine(
            rules=core_rules(),
            log=log,
            readings=self.store,
            clock=self.clock,
            timers=self.clock.timers,
            planner=ScriptedPlanner(lambda request: small_plan(request.kitchen)),
            desk=DeskSettings(debounce_s=0.0, first_retry_s=0.01),
        )

    async def open(self) -> "House":
        await self.engine.start()
        if self.engine.picture.state.kitchen is None:
            await self.engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=small_kitchen()))
            async with asyncio.timeout(5):
                while self.engine.picture.state.plan is None:
                    await asyncio.sleep(0.01)
        return self

    def first_task(self) -> tuple[TaskId, CrewId]:
        plan = self.engine.picture.state.plan
        assert plan is not None
        task = min((t for t in plan.tasks if t.kind is TaskKind.WORK and t.spans), key=lambda t: t.start)
        return task.id, task.spans[0].crew[0]


async def settle() -> None:
    for _ in range(10):
        await asyncio.sleep(0.005)


async def test_task_started_and_finished_is_known_after_restart() -> None:
    house = await House(MemoryEventLog()).open()
    task, person = house.first_task()
    plan = house.engine.picture.state.plan
    assert plan is not None
    placed = next(t for t in plan.tasks if t.id == task)
    house.clock.move(seconds=max(0.0, (placed.start - house.clock.now()).total_seconds()))
    started = await house.engine.submit(StartTask(command_id=CommandId("s"), person=person, task=task))
    assert not isinstance(started, Refusal), started
    assert house.engine.picture.state.record(task).status is TaskStatus.IN_HAND
    house.clock.move(minutes=placed.duration.usual)
    finished = await house.engine.submit(
        FinishTask(command_id=CommandId("f"), person=person, task=task, override_reason="measured by hand")
    )
    assert not isinstance(finished, Refusal), finished
    await house.engine.stop()
    state = house.engine.picture.state
    again = await House(house.log).open()
    assert again.engine.picture.state.tasks == state.tasks
    assert again.engine.picture.state.record(task).status is TaskStatus.DONE
    assert await again.engine.submit(StartTask(command_id=CommandId("s"), person=person, task=task)) == started
    await again.engine.stop()


async def test_task_not_started_raises_its_alarm_when_the_timer_rings() -> None:
    house = await House(MemoryEventLog()).open()
    task, _ = house.first_task()
    await settle()
    armed = house.engine._alarm_clock.armed_for
    assert armed is not None
    plan = house.engine.picture.state.plan
    assert plan is not None
    placed = next(t for t in plan.tasks if t.id == task)
    until = placed.start + timedelta(minutes=small_kitchen().warnings.late_start + 1)
    for _ in range(200):
        if house.clock.now() >= until:
            break
        house.clock.move(minutes=1)
        await settle()
    late = [a.facts for a in house.engine.picture.state.alarms.values() if a.facts.kind is AlarmKind.TASK_LATE]
    assert [facts.task for facts in late] == [task]
    await house.engine.stop()


@pytest.mark.parametrize("person", [None, "manager"])
async def test_unknown_task_is_refused_and_nothing_recorded(person: str | None) -> None:
    house = await House(MemoryEventLog()).open()
    before = len(house.log.records)
    command = StartTask.model_validate({"command_id": "x", "person": person, "task": "Z9.nothing"})
    assert isinstance(await house.engine.submit(command), Refusal)
    assert len(house.log.records) == before
    await house.engine.stop()
