"""What a finished curve has shown of a ring outlives a restart, and the next run of the step leans on it."""

import asyncio
import math
from datetime import datetime, timedelta

from orchestrator.core.commands import StartTask
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, EquipmentId, ProbeId, RecipeId, StepId, TaskId
from orchestrator.core.pace_events import PaceLearned
from orchestrator.core.paces import earlier_runs
from orchestrator.engine.estimating import Foretold, estimator_of
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.estimates import recall, usual
from tests.engine.test_with_core import House, settle
from tests.fakes.event_logs import MemoryEventLog
from tests.fakes.kitchens import at, small_kitchen

COOK, CORE = TaskId("C1.cook"), ProbeId("hob-1-core")
KEY = (EquipmentId("hob-1"), RecipeId("custard-base"), StepId("cook"))


def _celsius(minute: float) -> float:
    """Newton's law, in closed form: 130 °C would be reached if nothing boiled."""
    return round(130.0 - 115.0 * math.exp(-0.03 * minute), 2)


async def _heat(house: House, begun: datetime, since: float, until: float) -> None:
    """A reading each half minute, as a probe sends them."""
    for number in range(round(since * 2), round(until * 2)):
        instant = begun + timedelta(minutes=number / 2.0)
        house.clock.move(seconds=max(0.0, (instant - house.clock.now()).total_seconds()))
        await house.engine.on_readings([Reading(CORE, _celsius(number / 2.0), instant, instant)])
    await settle()


async def _begun(house: House) -> datetime:
    begun = at("Wed 08:00")
    house.clock.move(seconds=max(0.0, (begun - house.clock.now()).total_seconds()))
    started = await house.engine.submit(StartTask(command_id=CommandId("s"), person="early-cook", task=COOK))
    assert not isinstance(started, Refusal), started
    return begun


async def _again(house: House) -> House:
    """The program started anew on the same record and readings, at the instant at which it stopped."""
    again = House(house.log, house.store)
    again.clock.move(seconds=(house.clock.now() - again.clock.now()).total_seconds())
    return await again.open()


async def _one_learned(house: House) -> PaceLearned:
    """What goes on record as the engine gets to it."""
    async with asyncio.timeout(10):
        while not _learned(house):
            await asyncio.sleep(0.01)
    (learned,) = _learned(house)
    return learned


def _learned(house: House) -> list[PaceLearned]:
    return [record.event for record in house.log.records if isinstance(record.event, PaceLearned)]


async def test_learned_pace_is_there_after_a_restart_and_is_put_down_only_once() -> None:
    house = await House(MemoryEventLog()).open()
    begun = await _begun(house)
    await _heat(house, begun, 0.0, 40.0)
    learned = await _one_learned(house)
    assert (learned.equipment, learned.recipe, learned.step) == KEY
    await house.engine.stop()
    again = await _again(house)
    assert again.engine.picture.state.paces == {KEY: (learned,)}
    await _heat(again, begun, 40.0, 42.0)
    assert _learned(again) == [learned]
    _leans_on_it(again, learned)
    await again.engine.stop()


def _leans_on_it(house: House, learned: PaceLearned) -> None:
    """Another task of the same step on the same ring is foretold by it: nearer than by its first minutes alone."""
    state = house.engine.picture.state
    assert state.plan is not None
    other = state.plan.task(COOK).model_copy(update={"id": TaskId("C9.cook")})
    runs = earlier_runs(state, other, KEY[0], learned.target_c)
    assert runs == (learned,)
    step = next(r for r in small_kitchen().recipes if r.id == KEY[1]).step(KEY[2])
    assert step.target is not None
    known = usual([(run.bands, run.scale) for run in runs])
    assert known is not None
    target = step.target.celsius
    truth = -math.log((130.0 - target) / 115.0) / 0.03
    errors = []
    for leans in (False, True):
        plain = estimator_of(step, step.target)
        foretold = Foretold(recall(plain, known, scale=learned.scale, target=target) if leans else plain)
        for number in range(8):
            foretold.fold(number / 2.0, at("Wed 12:00") + timedelta(minutes=number / 2.0), _celsius(number / 2.0))
        arrival = foretold.arrival(target)
        assert arrival is not None
        assert arrival.likely_min is not None
        errors.append(abs(arrival.likely_min - (truth - 3.5)))
    assert errors[1] < 0.6 * errors[0]


async def test_run_that_a_restart_cuts_in_two_is_learned_whole() -> None:
    house = await House(MemoryEventLog()).open()
    begun = await _begun(house)
    await _heat(house, begun, 0.0, 15.0)
    assert _learned(house) == []
    await house.engine.stop()
    again = await _again(house)
    await _heat(again, begun, 15.0, 40.0)
    cut = await _one_learned(again)
    await again.engine.stop()
    whole = await House(MemoryEventLog()).open()
    await _heat(whole, await _begun(whole), 0.0, 40.0)
    assert cut.bands == (await _one_learned(whole)).bands
    await whole.engine.stop()
