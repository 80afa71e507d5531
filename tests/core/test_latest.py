"""Latest starts that keep an order: bounds by links, then tried by projection."""

from datetime import datetime, timedelta

from orchestrator.core.ids import TaskId
from orchestrator.core.latest import latest_starts, latest_that_keeps
from orchestrator.core.projection import Trials, project
from orchestrator.core.state import State
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, planned

TEMPER, CHURN = TaskId("SAT-STALL.B.temper"), TaskId("B1.churn")


def _ready(state: State, now: datetime, start: datetime) -> datetime:
    return Trials(state, now, CHURN).started(start)[TaskId("SAT-STALL.B.hand-over")].end


def test_latest_starts_count_back_from_the_due_time() -> None:
    state = planned()
    assert state.plan is not None
    assert state.kitchen is not None
    latest = latest_starts(state.plan, state.kitchen)
    # Due Sat 11:00: hand over 10 min, temper 20, harden at least 4 h, churn 30, age at least 12 h, chill 90, cook 40.
    assert latest[TaskId("SAT-STALL.B.hand-over")] == at("Sat 10:50")
    assert latest[TEMPER] == at("Sat 10:30")
    assert latest[TaskId("B1.harden.SAT-STALL")] == at("Sat 06:30")
    assert latest[CHURN] == at("Sat 06:00")
    assert latest[TaskId("C1.age.B1")] == at("Fri 18:00")
    assert latest[TaskId("C1.chill")] == at("Fri 16:30")
    assert latest[TaskId("C1.cook")] == at("Fri 15:50")
    assert TaskId("churn.clean.S1") not in latest


def test_latest_that_keeps_is_the_bound_when_people_and_machines_allow_it() -> None:
    state = base_ageing()
    now, due = at("Thu 09:00"), at("Sat 11:00")
    assert latest_that_keeps(
        state, now, CHURN, lambda live: live[TaskId("SAT-STALL.B.hand-over")].end <= due, at("Sat 06:00")
    ) == at("Sat 06:00")


def test_latest_that_keeps_is_earlier_when_nobody_is_there_at_the_bound_and_was_tried() -> None:
    state = base_ageing()
    now, limit = at("Thu 09:00"), at("Sat 10:00")
    # Ready by Saturday 10:00 would need churning at 05:00, when nobody is there: Friday evening it is.
    found = latest_that_keeps(
        state,
        now,
        CHURN,
        lambda live: live[TaskId("B1.harden.SAT-STALL")].start <= limit - timedelta(hours=4, minutes=30),
        at("Sat 05:00"),
    )
    assert found is not None
    # The late cook leaves at 21:00 and churning takes 30 minutes.
    assert at("Fri 19:30") < found <= at("Fri 20:30")
    assert _ready(state, now, found) <= at("Sat 11:00")


def test_latest_that_keeps_is_none_when_even_starting_now_is_too_late() -> None:
    state = base_ageing()
    due = at("Sat 11:00")
    kept = latest_that_keeps(
        state, at("Sat 06:10"), CHURN, lambda live: live[TaskId("SAT-STALL.B.hand-over")].end <= due, at("Sat 06:00")
    )
    assert kept is None


def test_trials_place_what_comes_before_once_and_agree_with_a_whole_projection() -> None:
    state, now = base_ageing(), at("Thu 08:00")
    trials = Trials(state, now, CHURN)
    assert trials.started(at("Thu 09:00")) == project(state, now)  # its planned start
    assert trials.soonest() == at("Thu 08:00")
    later = trials.started(at("Thu 11:00"))
    assert (later[CHURN].start, later[TaskId("C1.age.B1")].end) == (at("Thu 11:00"), at("Thu 11:00"))
    assert trials.started(at("Thu 09:00")) == project(state, now)  # one trial leaves the next untouched
