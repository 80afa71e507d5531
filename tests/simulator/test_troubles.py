"""Planted troubles: what is planted, where, and that it is undone by itself."""

from datetime import timedelta

import pytest

from orchestrator.core.commands import StopMachine
from orchestrator.core.ids import CrewId, ProbeId
from orchestrator.core.state import State
from orchestrator.simulator.runner import Cast, cast_of
from orchestrator.simulator.scene import Scene
from orchestrator.simulator.troubles import CHURN_STOPS, DOOR_OPEN, LATE_COOK, PROBE_SILENT, TITLES, next_run
from tests.fakes.doors import FakeDoor
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan


def planted_at(when: str) -> tuple[FakeDoor, Cast]:
    door = FakeDoor(State(kitchen=small_kitchen(), plan=small_plan()), at(when))
    return door, cast_of(door, door.now)


def test_late_cook_is_away_for_45_to_90_minutes_of_the_next_shift() -> None:
    for seed in range(8):
        door = FakeDoor(State(kitchen=small_kitchen(), plan=small_plan()), at("Wed 09:00"))
        cast = cast_of(door, door.now, seed=seed)
        cast.troubles.plant(LATE_COOK, door.now)
        start, end = cast.crew.roster.away[CrewId("late-cook")]
        assert start == at("Wed 09:00")
        assert timedelta(minutes=45) <= end - at("Wed 13:00") <= timedelta(minutes=90)
        assert CrewId("late-cook") not in [m.id for m in cast.crew.roster.there(at("Wed 13:40"))]
        assert CrewId("late-cook") in [m.id for m in cast.crew.roster.there(at("Wed 14:31"))]


def test_churn_stops_for_two_hours() -> None:
    door, cast = planted_at("Thu 08:30")
    cast.troubles.plant(CHURN_STOPS, door.now)
    stops = [(c.equipment, c.until, c.person) for c in door.of(StopMachine)]
    assert stops == [("churn", at("Thu 10:30"), "early-cook")]


def test_silent_probe_says_nothing_for_its_time_and_then_speaks_again() -> None:
    door, cast = planted_at("Wed 09:00")
    planted = cast.troubles.plant(PROBE_SILENT, door.now)
    readings = cast.thermometers.measure(at("Wed 10:00"), Scene)
    heard = [measured_at for probe, _, measured_at, _ in readings if probe == planted.thing]
    assert planted.thing == ProbeId("fridge-air")
    assert heard[0] == planted.end == at("Wed 09:45")


def test_open_door_lets_the_freezer_warm_and_is_shut_again() -> None:
    door, cast = planted_at("Wed 09:00")
    planted = cast.troubles.plant(DOOR_OPEN, door.now)
    readings = cast.thermometers.measure(at("Wed 10:00"), Scene)
    readings += cast.thermometers.measure(at("Wed 11:30"), Scene)
    freezer = {when: celsius for probe, celsius, when, _ in readings if probe == "freezer-air"}
    assert freezer[at("Wed 09:00")] < -18.0
    assert freezer[planted.end] > -12.0
    assert freezer[at("Wed 11:30")] < -17.0


def test_scheduled_trouble_comes_once_at_its_hour() -> None:
    door, cast = planted_at("Thu 08:00")
    cast.troubles.scheduled = {CHURN_STOPS: at("Thu 08:30")}
    cast.troubles.due(at("Thu 08:29"))
    assert door.commands == []
    assert cast.troubles.next_at() == at("Thu 08:30")
    for minute in (30, 31):
        cast.troubles.due(at(f"Thu 08:{minute}"))
    assert len(door.of(StopMachine)) == 1
    assert cast.troubles.next_at() is None


def test_unknown_trouble_is_a_key_error() -> None:
    door, cast = planted_at("Thu 08:00")
    with pytest.raises(KeyError):
        cast.troubles.plant("flood", door.now)


def test_every_trouble_has_a_title_and_can_be_planted() -> None:
    door, cast = planted_at("Thu 08:00")
    for key in TITLES:
        assert cast.troubles.plant(key, door.now).trouble == key


def test_next_run_is_the_next_planned_start_on_such_a_machine() -> None:
    door, _ = planted_at("Wed 09:00")
    assert next_run(door.state, "churn", at("Wed 09:00")) == at("Thu 09:00")
    assert next_run(door.state, "churn", at("Thu 09:00")) == at("Thu 10:00")
    assert next_run(door.state, "oven", at("Wed 09:00")) is None


def test_churn_scheduled_to_stop_waits_until_it_is_about_to_be_used() -> None:
    door, cast = planted_at("Wed 09:00")
    cast.troubles.scheduled = {CHURN_STOPS: at("Wed 09:00")}
    cast.troubles.due(at("Wed 09:00"))  # it runs on Thursday at 9:00 at the earliest
    assert cast.troubles.planted == {}
    assert cast.troubles.next_at() == at("Thu 08:35")
    door.now = at("Thu 08:35")
    cast.troubles.due(door.now)
    assert cast.troubles.planted[CHURN_STOPS].end == at("Thu 10:35")
