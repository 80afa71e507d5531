"""A restart loses no drift: it is rebuilt from stored readings, as it would be had the program run on."""

import asyncio
import random
from datetime import datetime, timedelta

import pytest

from orchestrator.core.commands import ImportKitchen
from orchestrator.core.ids import CommandId, CrewId, ProbeId
from orchestrator.core.models import Kitchen
from orchestrator.core.models.health import Sign
from orchestrator.core.probe_book import with_event
from orchestrator.core.probe_events import ProbeChecked
from orchestrator.core.state import State
from orchestrator.engine import DeskSettings, Engine
from orchestrator.engine.drift_back import BASELINE, LOOKED_FOR, RECENT, drifts_of, together_in_air
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.health.signs import ANYTHING
from orchestrator.thermal.health.together import Together
from tests.fakes.clocks import START, HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.rules import small_rules

A, B = ProbeId("fridge-air"), ProbeId("fridge-air-2")
HOURS = 60
STEP_MIN = 5


def _kitchen() -> Kitchen:
    plain = small_kitchen()
    first = next(probe for probe in plain.probes if probe.id == A)
    second = first.model_copy(update={"id": B, "name": "Fridge air 2"})
    return plain.model_copy(update={"probes": (*plain.probes, second), "planning_start": START})


def _readings(drift_per_day: float, *, hours: int = HOURS) -> list[Reading]:
    """Two in the same air, which cycles and is noisy; the second drifts from the first."""
    chance, found = random.Random(7), []
    for n in range(hours * 60 // STEP_MIN):
        when = START + timedelta(minutes=STEP_MIN * (n + 1))
        air = 3.0 + (n % 6) * 0.2
        drifted = air + drift_per_day * n * STEP_MIN / 1440.0
        found.append(Reading(A, air + chance.gauss(0.0, 0.05), when, when))
        found.append(Reading(B, drifted + chance.gauss(0.0, 0.05), when, when))
    return found


def _live(readings: list[Reading], checked: datetime | None = None) -> Together:
    together = Together()
    for probe in (A, B):
        together.place(probe, "air")
    for reading in readings:
        if checked is not None and reading.measured_at > checked:
            together.checked(A)
            together.checked(B)
            checked = None
        together.fold(reading.probe, reading.measured_at.timestamp(), reading.celsius, ANYTHING)
    return together


def _stored(readings: list[Reading]) -> MemoryReadings:
    store = MemoryReadings()
    store.add(readings)
    return store


@pytest.mark.parametrize("hours", [3, 6, 9, HOURS])
def test_rebuilt_drift_is_what_it_would_be_had_the_program_run_on(hours: int) -> None:
    readings = _readings(1.2, hours=hours)
    now = readings[-1].measured_at
    back = drifts_of(State(kitchen=_kitchen()), (A, B), _stored(readings).between, now)
    live = _live(readings)
    for probe in (A, B):
        was = live.drift_of(probe)
        assert back[probe].moved_c == (None if was.moved_c is None else pytest.approx(was.moved_c, abs=0.02))
        assert [f.sign for f in (back[probe].finding(),) if f] == [f.sign for f in (was.finding(),) if f]
    if hours == HOURS:
        assert live.drift_of(B).finding() is not None


def test_drift_counts_from_the_last_check() -> None:
    readings, state = _readings(1.2), State(kitchen=_kitchen())
    checked = START + timedelta(hours=40)
    book = state.probes
    for probe in (A, B):
        check = ProbeChecked(
            probe=probe,
            at=checked,
            person=CrewId("early-cook"),
            point="ice",
            expected_c=0.0,
            shown_c=0.0,
            tolerance_c=1.0,
            source="FDA Food Code 2022, 4-203.11",
            passed=True,
        )
        book = with_event(book, check)
    state = State(kitchen=_kitchen(), probes=book)
    back = drifts_of(state, (A, B), _stored(readings).between, readings[-1].measured_at)
    live = _live(readings, checked)
    assert back[B].moved_c == pytest.approx(live.drift_of(B).moved_c, abs=0.05)
    assert back[B].finding() is None  # twenty hours at 1.2 °C a day


def test_restart_reads_no_more_after_long_than_after_a_day() -> None:
    asked: list[timedelta] = []

    def between(probe: ProbeId, since: datetime, until: datetime) -> list[Reading]:
        asked.append(until - since)
        when = since + timedelta(minutes=1)
        return [Reading(probe, 3.0, when, when)]

    for days in (2, 400):
        asked.clear()
        drifts_of(State(kitchen=_kitchen()), (A, B), between, START + timedelta(days=days))
        assert sum(asked, timedelta(0)) / 2 <= LOOKED_FOR + BASELINE + RECENT
    assert [len(group) for group in together_in_air(_kitchen())] == [2]


async def test_restart_of_the_engine_knows_the_drift_again() -> None:
    readings, log = _readings(1.2), MemoryEventLog()
    store = _stored(readings)

    def engine(clock: HandClock) -> Engine:
        return Engine(
            rules=small_rules(),
            log=log,
            readings=store,
            clock=clock,
            timers=clock.timers,
            planner=ScriptedPlanner(lambda request: small_plan(request.kitchen)),
            desk=DeskSettings(seconds=0.1, debounce_s=0.0),
            on_repeats=lambda _: None,
        )

    first = engine(HandClock())
    await first.start()
    await first.submit(ImportKitchen(command_id=CommandId("import"), kitchen=_kitchen()))
    await asyncio.sleep(0.02)
    await first.stop()
    clock = HandClock()
    clock.move(seconds=HOURS * 3600.0)
    again = engine(clock)
    await again.start()
    health = {probe: [f.sign for f in again.picture.facts[probe].health] for probe in (A, B)}
    assert health == {A: [Sign.DRIFTING], B: [Sign.DRIFTING]}  # of two, either may be the one
    await again.stop()
