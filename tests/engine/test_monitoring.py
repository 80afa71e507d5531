"""Readings: stored before anything else, judged, and put on record only when they mean something new."""

import asyncio
from datetime import timedelta

import pytest

from orchestrator.core.commands import ImportKitchen
from orchestrator.core.events import FactRecorded
from orchestrator.core.ids import CommandId, ProbeId
from orchestrator.engine import DeskSettings, Engine
from orchestrator.ports.event_log import LogUnavailable, Reading
from tests.fakes.clocks import START, HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.rules import small_rules

FRIDGE = ProbeId("fridge-air")


class Kitchen:
    """An engine with the small kitchen and a clock moved by hand."""

    def __init__(self, log: MemoryEventLog | None = None, store: MemoryReadings | None = None) -> None:
        self.log = log or MemoryEventLog()
        self.store = store or MemoryReadings()
        self.clock = HandClock()
        self.repeats: list[Reading] = []
        self.engine = Engine(
            rules=small_rules(),
            log=self.log,
            readings=self.store,
            clock=self.clock,
            timers=self.clock.timers,
            planner=ScriptedPlanner(lambda request: small_plan(request.kitchen)),
            desk=DeskSettings(seconds=0.1, debounce_s=0.0),
            on_repeats=self.repeats.extend,
        )

    async def open(self) -> "Kitchen":
        await self.engine.start()
        await self.engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=small_kitchen()))
        await asyncio.sleep(0.02)
        return self

    async def hear(self, minute: float, celsius: float, probe: ProbeId = FRIDGE) -> None:
        at = START + timedelta(minutes=minute)
        self.clock.move(seconds=max(0.0, (at - self.clock.now()).total_seconds()))
        await self.engine.on_readings([Reading(probe, celsius, at, at)])
        await asyncio.sleep(0.01)

    def recorded(self) -> list[FactRecorded]:
        """Facts of the fridge's probe that were put on record."""
        events = [r.event for r in self.log.records if isinstance(r.event, FactRecorded)]
        return [event for event in events if event.fact.probe == FRIDGE]


async def test_reading_is_stored_and_its_fact_shown() -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(1, 3.2)
    assert kitchen.store.latest()[FRIDGE].celsius == 3.2
    assert kitchen.engine.picture.facts[FRIDGE].celsius == 3.2
    await kitchen.engine.stop()


async def test_reading_that_means_nothing_new_is_no_event() -> None:
    kitchen = await Kitchen().open()
    for minute in range(1, 6):
        await kitchen.hear(minute, 3.0 + minute / 100)
    assert kitchen.recorded() == []
    assert kitchen.engine.picture.facts[FRIDGE].celsius == 3.05
    await kitchen.engine.stop()


async def test_reading_outside_band_is_recorded_once_when_it_begins_and_ends() -> None:
    kitchen = await Kitchen().open()
    for minute, celsius in ((1, 3.0), (2, 9.0), (3, 9.5), (4, 9.4), (5, 3.0), (6, 3.0)):
        await kitchen.hear(minute, celsius)
    outside = [fact.fact.outside_since for fact in kitchen.recorded()]
    assert outside == [START + timedelta(minutes=2), None]
    await kitchen.engine.stop()


async def test_reading_not_stored_is_raised_to_whoever_brought_it() -> None:
    kitchen = await Kitchen().open()
    kitchen.store.fail = LogUnavailable("readings.db cannot grow: the disk is full")
    with pytest.raises(LogUnavailable):
        await kitchen.hear(1, 3.2)
    assert kitchen.engine.picture.facts[FRIDGE].celsius is None
    await kitchen.engine.stop()


async def test_reading_of_unknown_probe_is_kept_but_not_judged() -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(1, 3.2, ProbeId("nobody"))
    assert ProbeId("nobody") not in kitchen.engine.picture.facts
    assert kitchen.engine.picture.linked
    await kitchen.engine.stop()


async def test_repeat_changes_nothing() -> None:
    kitchen = await Kitchen().open()
    at = START + timedelta(minutes=1)
    reading = Reading(FRIDGE, 3.0, at, at + timedelta(seconds=1), seq=4)
    await kitchen.engine.on_readings([reading])
    facts = kitchen.engine.picture.facts
    await kitchen.engine.on_readings([reading])
    assert kitchen.engine.picture.facts == facts
    assert kitchen.repeats == [reading]
    await kitchen.engine.stop()


async def test_silence_is_recorded_by_the_minute_timer() -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(1, 3.0)
    for _ in range(15):
        kitchen.clock.move(minutes=1)
        await asyncio.sleep(0.005)
    silent = [fact.fact.silent_since for fact in kitchen.recorded()]
    assert silent == [START + timedelta(minutes=1)]
    await kitchen.engine.stop()


async def test_restart_knows_the_curve_again_and_records_nothing_twice() -> None:
    kitchen = await Kitchen().open()
    for minute in range(1, 9):
        await kitchen.hear(minute, 9.0 + minute)
    fact, recorded = kitchen.engine.picture.facts[FRIDGE], kitchen.recorded()
    await kitchen.engine.stop()
    again = Kitchen(kitchen.log, kitchen.store)
    again.clock.move(minutes=8)
    await again.engine.start()
    assert again.engine.picture.facts[FRIDGE] == fact
    await again.hear(9, 18.0)
    assert again.recorded() == recorded
    await again.engine.stop()


async def test_restart_does_not_forget_that_a_probe_is_silent() -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(1, 3.0)
    for _ in range(15):
        kitchen.clock.move(minutes=1)
        await asyncio.sleep(0.005)
    recorded = kitchen.log.records.copy()
    await kitchen.engine.stop()
    again = Kitchen(kitchen.log, kitchen.store)
    again.clock.move(minutes=90)
    await again.engine.start()
    for _ in range(3):
        again.clock.move(minutes=1)
        await asyncio.sleep(0.005)
    assert again.log.records == recorded
    assert again.engine.picture.facts[FRIDGE].silent_since == START + timedelta(minutes=1)
    await again.engine.stop()


async def silent_kitchen(heard: bool = True) -> Kitchen:
    kitchen = await Kitchen().open()
    if heard:
        await kitchen.hear(1, 3.0)
    for _ in range(15):
        kitchen.clock.move(minutes=1)
        await asyncio.sleep(0.005)
    return kitchen


async def test_reading_stored_without_its_fact_before_a_power_cut_is_on_record_after_it() -> None:
    """Else the next silence, which means what stands on record, is told to nobody."""
    kitchen = await silent_kitchen()
    await kitchen.engine.stop()
    at = kitchen.clock.now() + timedelta(minutes=1)
    kitchen.store.add([Reading(FRIDGE, 3.1, at, at)])
    again = Kitchen(kitchen.log, kitchen.store)
    again.clock.move(seconds=(at - again.clock.now()).total_seconds() + 30)
    await again.engine.start()
    async with asyncio.timeout(20):
        while again.recorded()[-1].fact.silent_since is not None:
            await asyncio.sleep(0.01)
    assert again.engine.picture.facts[FRIDGE].silent_since is None
    again.clock.move(seconds=3600)
    async with asyncio.timeout(20):
        while again.recorded()[-1].fact.silent_since is None:
            await asyncio.sleep(0.01)
    assert again.recorded()[-1].fact.silent_since == at
    await again.engine.stop()


@pytest.mark.parametrize("heard", [True, False])
async def test_restart_shows_a_silent_probe_as_silent_from_its_first_picture(heard: bool) -> None:
    kitchen = await silent_kitchen(heard)
    since = kitchen.engine.picture.facts[FRIDGE].silent_since
    assert since is not None
    await kitchen.engine.stop()
    again = Kitchen(kitchen.log, kitchen.store)
    again.clock.move(minutes=20)
    await again.engine.start()
    # Alarms are judged by this at once: its alarm would be over, and nothing would raise it again.
    assert again.engine.picture.facts[FRIDGE].silent_since == since
    await again.engine.stop()


async def test_fact_that_could_not_be_recorded_is_followed_by_the_next_whatever_it_means() -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(1, 3.0)
    kitchen.log.fail = LogUnavailable("the disk is full")
    for _ in range(15):
        kitchen.clock.move(minutes=1)
        await asyncio.sleep(0.005)
    async with asyncio.timeout(20):
        while kitchen.engine.picture.linked:  # until the silence was refused
            await asyncio.sleep(0.01)
    assert kitchen.recorded() == []
    kitchen.log.fail = None
    await kitchen.hear(16, 3.0)
    async with asyncio.timeout(20):
        while not kitchen.recorded() or kitchen.recorded()[-1].fact.silent_since is not None:
            await asyncio.sleep(0.01)
    known = len(kitchen.recorded())
    await kitchen.hear(17, 3.0)
    assert len(kitchen.recorded()) == known
    await kitchen.engine.stop()
