"""A kitchen at work as a service in a process of its own: the example, a base on the hob.

Everything is real, but the planner repairs within the service's process, and only when it must: no search of its own
processes takes the cores from what is measured.

`python -m tests.benchmarks.screens_service FOLDER` says where it listens in one line of JSON, and ends with its input.
"""

import asyncio
import json
import sys
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap import Hooks, Settings, System, build
from orchestrator.bootstrap.history import QUICK_DESK, wait_for_plan
from orchestrator.core.commands import Command, FinishTask, StartTask
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId, ProbeId, TaskId
from orchestrator.core.models import PlannedTask
from orchestrator.core.recipe_commands import ComeIn
from orchestrator.kitchen.read import read_kitchen
from orchestrator.ports.event_log import Reading
from tests.simulation.house import PlannerHere

CONFIG: Final = Path(__file__).parents[2] / "config"
PROBE: Final = ProbeId("hob-1-core")
COOKED: Final = TaskId("C1.cook")
STATION: Final = "stove"
PERSON: Final = CrewId("early-cook")
MINUTES: Final = 20
"""So long has the base been on the hob when the screens are opened."""


async def serve(folder: Path) -> None:
    """Until the input ends."""
    known = read_kitchen(CONFIG)
    clock = ScaledClock(known.planning_start, 1.0)
    settings = Settings(data=folder, kitchen=CONFIG, practice=True, client_id="bench")
    system = build(settings, Hooks(clock=clock, planner=PlannerHere(most_solved=0), desk=QUICK_DESK))
    await system.start()
    try:
        await wait_for_plan(system)
        await cooking(system, clock)
        print(json.dumps({"url": system.url, "broker": system.broker_url}), flush=True)
        await asyncio.to_thread(sys.stdin.read)
    finally:
        await system.stop()


async def cooking(system: System, clock: ScaledClock) -> None:
    """Weigh the base, put it on the hob, and let it warm for a while."""
    plan = system.engine.picture.state.plan
    assert plan is not None
    times = {task.id: task for task in plan.tasks}
    weighed, cooked = times[TaskId("C1.weigh")], times[COOKED]
    clock.jump(max(weighed.start, clock.now()))
    await _act(system, ComeIn(command_id=CommandId("in"), person=PERSON))
    await _act(system, StartTask(command_id=CommandId("weigh"), task=weighed.id, person=PERSON))
    clock.jump(max(weighed.end, cooked.start, clock.now()))
    await _act(system, FinishTask(command_id=CommandId("weighed"), task=weighed.id, person=PERSON))
    await _act(system, StartTask(command_id=CommandId("cook"), task=COOKED, person=PERSON))
    await _warm(system, clock, cooked)


async def _warm(system: System, clock: ScaledClock, cooked: PlannedTask) -> None:
    begun = clock.now()
    clock.jump(begun + timedelta(minutes=MINUTES))
    times = [begun + timedelta(minutes=minute) for minute in range(MINUTES)]
    await system.engine.on_readings([_reading(at, 20.0 + 2.0 * minute) for minute, at in enumerate(times)])


def _reading(at: datetime, celsius: float) -> Reading:
    return Reading(PROBE, celsius, at, at)


async def _act(system: System, command: Command) -> None:
    answer = await system.engine.submit(command)
    if isinstance(answer, Refusal):
        raise RuntimeError(f"{command.kind}: {answer.status}; {answer.remedy}")


if __name__ == "__main__":
    asyncio.run(serve(Path(sys.argv[1])))
