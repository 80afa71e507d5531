"""The demo's pace: slow while somebody is needed, fast while nobody is, and never past a need."""

from datetime import timedelta

from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.state import State, TaskStatus
from orchestrator.simulator.pace import CRUISE, next_moment, next_need, pace
from tests.fakes.doors import FakeDoor
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan


def door() -> FakeDoor:
    return FakeDoor(State(kitchen=small_kitchen(), plan=small_plan()), at("Wed 06:00"))


def test_pace_while_hands_are_in_a_task_is_the_speed_asked_for() -> None:
    house = door()
    house.set(TaskId("C1.cook"), status=TaskStatus.IN_HAND, started_at=at("Wed 08:00"), started_by=CrewId("early-cook"))
    assert next_need(house.state, at("Wed 08:10")) == at("Wed 08:10")
    assert pace(house.state, at("Wed 08:10"), 60.0) == 60.0


def test_pace_in_an_idle_hour_is_fast_but_slows_before_the_next_start() -> None:
    state = door().state
    assert pace(state, at("Wed 06:00"), 60.0) == 60.0 * CRUISE
    assert pace(state, at("Wed 07:57"), 60.0) == 60.0


def test_pace_never_runs_past_the_next_need_within_half_a_second() -> None:
    state, now = door().state, at("Wed 06:00")
    need = next_need(state, now)
    assert need is not None
    while now < need:
        step = timedelta(seconds=pace(state, now, 60.0) * 0.5)
        assert now + step <= need + timedelta(seconds=30)
        now += step


def test_pace_without_a_plan_is_fast() -> None:
    assert pace(State(), at("Wed 06:00"), 10.0) == 10.0 * CRUISE


def test_pace_real_life_nobody_needed_stays_real() -> None:
    state, night = door().state, at("Wed 06:00")
    assert pace(state, night, 2.0) > 2.0
    assert pace(state, night, 1.0) == 1.0
    assert pace(State(), night, 1.0) == 1.0


def test_jump_goes_to_the_next_planned_start_or_end() -> None:
    house = door()
    assert next_moment(house.state, at("Wed 06:00")) == at("Wed 08:00")
    house.set(TaskId("C1.cook"), status=TaskStatus.IN_HAND, started_at=at("Wed 08:00"))
    assert next_moment(house.state, at("Wed 08:00")) == at("Wed 08:40")


def test_pace_at_night_is_fast_although_something_is_due_that_needs_hands() -> None:
    house = door()
    chill = TaskId("C1.chill")
    house.set(chill, status=TaskStatus.IN_HAND, started_at=at("Wed 20:30"), started_by=CrewId("late-cook"))
    night = at("Thu 02:00")
    need = next_need(house.state, night)
    assert need is not None
    assert need >= at("Thu 06:00")
    assert pace(house.state, night, 60.0) == 60.0 * CRUISE
