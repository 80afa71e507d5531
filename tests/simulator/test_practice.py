"""The demo's driver: what it controls, and what survives a kill."""

import json
import threading
import time
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.core.commands import StartTask
from orchestrator.core.ids import TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import State, TaskStatus
from orchestrator.simulator.practice import Practice, restore
from orchestrator.simulator.probes import Measured
from orchestrator.simulator.runner import cast_of
from orchestrator.simulator.troubles import DOOR_OPEN, TITLES
from tests.fakes.doors import FakeDoor
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan


class Stage:
    """A practice over a door that goes by its clock."""

    def __init__(self, when: str = "Wed 07:00", speed: float = 60.0) -> None:
        self.clock = ScaledClock(at(when), 0.0)
        self.door = FakeDoor(State(kitchen=small_kitchen(), plan=small_plan()), at(when))
        self.sent: list[Measured] = []
        self.kept: list[dict[str, Any]] = []
        cast = cast_of(self.door, at(when), variation=0.0)
        self.practice = Practice(self.door, self.clock, cast, self.take, self.kept.append, speed)

    def take(self, readings: Sequence[Measured]) -> None:
        """What the thermometers sent."""
        self.sent.extend(readings)
        self.door.now = self.clock.now()

    def until(self, done: Callable[[], bool], seconds: float = 5.0) -> None:
        """Wait until something has come true."""
        limit = time.monotonic() + seconds
        while not done():
            assert time.monotonic() < limit, "it did not come true in time"
            time.sleep(0.02)


def test_running_practice_measures_and_lets_the_crew_work() -> None:
    stage = Stage("Wed 07:59", speed=120.0)
    stage.practice.start()
    try:
        stage.until(lambda: bool(stage.door.of(StartTask)))
        stage.until(lambda: {probe for probe, *_ in stage.sent} == {p.id for p in small_kitchen().probes})
    finally:
        stage.practice.stop()
    assert stage.door.of(StartTask)[0].task == "C1.cook"


def test_paused_practice_stands_still_and_goes_on_when_told() -> None:
    stage = Stage()
    stage.practice.set_rate(0.0)
    stage.practice.start()
    try:
        time.sleep(0.4)
        assert stage.clock.now() == at("Wed 07:00")
        stage.practice.set_rate(30.0)
        stage.until(lambda: stage.clock.now() > at("Wed 07:00"))
    finally:
        stage.practice.stop()
    assert stage.practice.speed == 30.0


def test_jump_goes_to_the_next_event_even_while_paused() -> None:
    stage = Stage()
    stage.practice.set_rate(0.0)
    stage.practice.start()
    try:
        stage.practice.jump()
        stage.until(lambda: stage.clock.now() > at("Wed 07:00"))
    finally:
        stage.practice.stop()
    assert at("Wed 07:00") < stage.clock.now() <= at("Wed 08:00")


def test_crew_sent_away_leaves_the_work_to_a_person() -> None:
    stage = Stage("Wed 08:00", speed=60.0)
    stage.practice.set_crew(False)
    stage.practice.start()
    try:
        stage.until(lambda: len(stage.sent) > 8)
    finally:
        stage.practice.stop()
    assert not stage.practice.crew_on()
    assert stage.door.commands == []


def test_planted_trouble_is_shown_as_planted() -> None:
    stage = Stage()
    assert [planted for _, _, planted in stage.practice.troubles()] == [False] * len(TITLES)
    stage.practice.plant(DOOR_OPEN)
    assert {key: planted for key, _, planted in stage.practice.troubles()}[DOOR_OPEN]


def test_everything_simulated_survives_a_kill() -> None:
    stage = Stage()
    stage.door.set(TaskId("C1.cook"), status=TaskStatus.IN_HAND, started_at=at("Wed 07:00"))
    stage.practice.cast.troubles.scheduled = {"late-cook": at("Thu 12:00")}
    for trouble in TITLES:
        stage.practice.plant(trouble)
    stage.practice.set_rate(0.0)
    stage.clock.jump(at("Wed 07:30"))
    stage.practice._turn()
    saved = json.loads(json.dumps(stage.practice.saved()))
    other = Stage()
    restore(other.practice.cast, saved)
    other.clock.jump(at("Wed 07:30"))
    assert {**other.practice.saved(), "now": None} == {**saved, "now": None}
    assert saved["now"] == at("Wed 07:30").isoformat()
    assert stage.kept


def test_clock_stands_while_the_driver_waits_for_an_answer() -> None:
    stage = Stage("Wed 07:59", speed=600.0)
    asked, go_on = threading.Event(), threading.Event()
    look = stage.practice.cast.crew.look

    def held_up(now: datetime) -> datetime:
        asked.set()
        go_on.wait(5.0)
        return look(now)

    stage.practice.cast.crew.look = held_up  # type: ignore[method-assign]
    stage.practice.start()
    try:
        assert asked.wait(5.0)
        before = stage.clock.now()
        time.sleep(0.8)
        assert stage.clock.now() - before <= timedelta(minutes=4)
    finally:
        go_on.set()
        stage.practice.stop()


def test_clock_stands_while_readings_are_sent_and_not_heard() -> None:
    stage = Stage("Wed 07:00", speed=60.0)
    stage.practice.set_crew(False)
    stage.door.facts = {
        probe.id: ProbeFact(probe=probe.id, equipment=probe.equipment, measured_at=at("Wed 07:00"))
        for probe in small_kitchen().probes
    }
    stage.practice.start()
    try:
        time.sleep(1.5)
        assert stage.clock.now() - at("Wed 07:00") <= timedelta(minutes=13)
        stood = stage.clock.now()
        time.sleep(0.5)
        assert stage.clock.now() == stood
    finally:
        stage.practice.stop()
