"""What a probe's curve means, folded reading by reading."""

import dataclasses
from datetime import datetime, timedelta

import pytest

from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

KITCHEN = small_kitchen()
PLAN = small_plan(KITCHEN)
IDLE = State(seq=1, kitchen=KITCHEN, plan=PLAN)


def _in_hand(task: str, since: datetime, seq: int = 2) -> State:
    planned = PLAN.task(TaskId(task))
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=since, equipment=planned.equipment)
    return dataclasses.replace(IDLE, seq=seq, tasks={planned.id: record})


def _reading(probe: str, instant: datetime, celsius: float) -> Reading:
    return Reading(ProbeId(probe), celsius, instant, instant)


def _task_of(process: str) -> str:
    return next(t.id for t in PLAN.tasks if t.process == process)


def test_cook_step_reaches_holds_and_breaks_its_ceiling() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 07:00")
    state = _in_hand(_task_of("cook"), begun)
    curve = [60.0, 70.0, 80.0, 84.0, 84.0, 84.0, 86.0]
    facts = [assessor.fold(_reading("hob-1-core", begun + timedelta(minutes=i), c), state) for i, c in enumerate(curve)]
    assert facts[2].reached_at is None
    assert facts[3].reached_at == begun + timedelta(minutes=2.5)
    assert facts[4].met_at == begun + timedelta(minutes=3.5)
    assert facts[5].ceiling_broken_at is None
    assert facts[6].ceiling_broken_at == begun + timedelta(minutes=6)


def test_cook_step_on_a_straight_line_names_its_arrival() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 07:00")
    state = _in_hand(_task_of("cook"), begun)
    for i in range(9):
        fact = assessor.fold(_reading("hob-1-core", begun + timedelta(minutes=i), 60 + 2.0 * i), state)
    assert fact.slope_c_per_min == pytest.approx(2)
    assert fact.arrival_from is not None
    assert fact.arrival_to is not None
    assert fact.arrival_from <= begun + timedelta(minutes=11) <= fact.arrival_to
    assert fact.no_arrival == ""


def test_another_task_on_the_same_hob_begins_a_new_hold() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 07:00")
    first = _in_hand(_task_of("cook"), begun)
    assessor.fold(_reading("hob-1-core", begun, 83), first)
    fact = assessor.fold(_reading("hob-1-core", begun + timedelta(minutes=1), 83), dataclasses.replace(IDLE, seq=3))
    assert (fact.task, fact.reached_at) == (None, None)


def test_reading_taken_before_a_step_began_but_heard_after_does_not_meet_its_target() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 08:00")
    state = _in_hand(_task_of("chill"), begun)
    empty_bath = assessor.fold(_reading("ice-bath-core", begun - timedelta(seconds=7), 0.3), state)
    assert (empty_bath.celsius, empty_bath.reached_at, empty_bath.met_at, empty_bath.cooling) == (0.3, None, None, "")
    food = assessor.fold(_reading("ice-bath-core", begun + timedelta(minutes=1), 74.6), state)
    assert (food.reached_at, food.met_at) == (None, None)
    assert food.cooling != "met"


def test_cold_of_the_empty_bath_does_not_meet_the_target_before_the_food_was_seen() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 08:00")
    state = _in_hand(_task_of("chill"), begun)
    curve = [0.3, 0.4, 70.0, 40.0, 4.0]
    facts = [
        assessor.fold(_reading("ice-bath-core", begun + timedelta(minutes=i), c), state) for i, c in enumerate(curve)
    ]
    assert [f.met_at is not None for f in facts] == [False, False, False, False, True]
    assert [f.cooling for f in facts] == ["", "", "", "on course", "met"]


def test_chill_step_is_judged_in_two_legs() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 08:00")
    state = _in_hand(_task_of("chill"), begun)
    for minutes, celsius in ((0, 70.0), (10, 57.0), (70, 50.0), (131, 22.0)):
        fact = assessor.fold(_reading("ice-bath-core", begun + timedelta(minutes=minutes), celsius), state)
    # FDA Food Code 2022 3-501.14(A): 57 to 21 °C within 2 h.
    assert fact.cooling == "first leg missed"


def test_store_outside_its_band_keeps_the_first_instant_and_the_worst_until_it_is_back() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 02:00")
    curve = [-18.0, -14.0, -12.0, -13.0, -15.0]
    facts = [assessor.fold(_reading("freezer-air", begun + timedelta(minutes=i), c), IDLE) for i, c in enumerate(curve)]
    assert [f.outside_since for f in facts] == [None, *[begun + timedelta(minutes=1)] * 3, None]
    assert [f.worst_c for f in facts] == [None, -14.0, -12.0, -12.0, None]


def test_probe_not_heard_is_silent_since_its_last_reading_and_heard_again() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 02:00")
    assessor.fold(_reading("fridge-air", begun, 3), IDLE)
    assert ProbeId("fridge-air") not in {
        f.probe for f in assessor.silence(begun + timedelta(minutes=9), IDLE) if f.silent_since
    }
    silent = [f for f in assessor.silence(begun + timedelta(minutes=10), IDLE) if f.probe == "fridge-air"]
    assert [f.silent_since for f in silent] == [begun]
    assert [f for f in assessor.silence(begun + timedelta(minutes=11), IDLE) if f.probe == "fridge-air"] == []
    assert assessor.fold(_reading("fridge-air", begun + timedelta(minutes=12), 3), IDLE).silent_since is None


def test_probe_never_heard_is_silent_from_when_we_listened() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 02:00")
    assessor.silence(begun, IDLE)
    silent = assessor.silence(begun + timedelta(minutes=10), IDLE)
    assert {(f.probe, f.silent_since) for f in silent} == {(p.id, begun) for p in KITCHEN.probes}


def test_older_reading_changes_nothing() -> None:
    assessor, begun = Assessor(KITCHEN), at("Wed 02:00")
    assessor.fold(_reading("fridge-air", begun, 3), IDLE)
    assert assessor.fold(_reading("fridge-air", begun - timedelta(minutes=1), 30), IDLE).celsius == 3


def test_unknown_probe_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        Assessor(KITCHEN).fold(_reading("nowhere", at("Wed 02:00"), 3), IDLE)


def test_resume_covers_the_step_in_hand() -> None:
    state = _in_hand(_task_of("cook"), at("Wed 07:00"))
    assessor = Assessor(KITCHEN)
    assert assessor.resume_from(ProbeId("hob-1-core"), state, at("Wed 09:00")) == at("Wed 07:00")
    assert assessor.resume_from(ProbeId("fridge-air"), state, at("Wed 09:00")) == at("Wed 08:30")
