"""Alarms of target temperatures: before the miss, at it, and when it is met."""

from dataclasses import replace

import pytest

from orchestrator.core.ids import AlarmId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.alarm import Priority
from orchestrator.core.state import State
from tests.core.alarm_script import all_told, facts_of, step
from tests.fakes.kitchens import at
from tests.fakes.states import begun, done, planned

CHILL = "target_missed:C1.chill"


def _chilling(**facts: object) -> ProbeFact:
    base = {"probe": "ice-bath-core", "equipment": "ice-bath", "task": "C1.chill", "celsius": 30.0}
    return ProbeFact.model_validate({**base, **facts})


def _chill_in_hand() -> State:
    return begun(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), "C1.chill", "Wed 08:45")


@pytest.mark.parametrize(
    ("facts", "missed", "reason"),
    [
        ({"cooling": "on course"}, None, ""),
        ({"cooling": "will be late"}, False, "will be late"),
        ({"cooling": "first leg missed"}, True, "first leg missed"),
        ({"cooling": "second leg missed"}, True, "second leg missed"),
        ({"arrival_from": at("Wed 13:00")}, False, "longest"),
        ({"arrival_from": at("Wed 12:45")}, None, ""),
    ],
)
def test_target_of_a_chill_warns_before_and_escalates_at_the_miss(
    facts: dict[str, object], missed: bool | None, reason: str
) -> None:
    state, fact = _chill_in_hand(), _chilling(**facts)
    expected = {} if missed is None else {CHILL: missed}
    assert {a: m for a, m in all_told(state, "Wed 10:00", fact).items() if a == CHILL} == expected
    if missed is not None:
        assert facts_of(state, "Wed 10:00", CHILL, fact).reason == reason


def test_target_escalates_from_warning_to_miss_and_returns_when_met() -> None:
    state, told = step(_chill_in_hand(), "Wed 10:00", _chilling(cooling="will be late"))
    assert told == [("raised", CHILL)]
    missed, told = step(state, "Wed 10:45", _chilling(cooling="first leg missed"))
    assert ("escalated", CHILL) in told
    assert missed.alarms[AlarmId(CHILL)].facts.priority is Priority.CRITICAL
    _, told = step(state, "Wed 10:45", _chilling(cooling="met", met_at=at("Wed 10:44")))
    assert ("returned", CHILL) in told


def test_target_not_met_at_the_longest_end_is_missed() -> None:
    # Started 08:45, at most four hours.
    assert CHILL not in all_told(_chill_in_hand(), "Wed 12:44", _chilling())
    assert all_told(_chill_in_hand(), "Wed 12:45", _chilling())[CHILL] is True
    assert CHILL not in all_told(_chill_in_hand(), "Wed 12:45", _chilling(met_at=at("Wed 10:40")))


def test_target_ceiling_broken_is_missed_with_its_limit() -> None:
    state = begun(planned(), "C1.cook", "Wed 08:00")
    fact = ProbeFact.model_validate(
        {
            "probe": "hob-1-core",
            "equipment": "hob-1",
            "task": "C1.cook",
            "celsius": 86.2,
            "ceiling_broken_at": at("Wed 08:30"),
        }
    )
    facts = facts_of(state, "Wed 08:31", "target_missed:C1.cook", fact)
    assert (facts.missed, facts.limit_c, facts.since, facts.reason) == (True, 85.0, at("Wed 08:30"), "ceiling")


def test_target_met_by_a_hand_reading_is_not_missed_at_the_longest_end() -> None:
    state, chill = _chill_in_hand(), TaskId("C1.chill")

    def measured(celsius: float) -> State:
        record = replace(state.tasks[chill], hand_readings=((at("Wed 12:40"), celsius),))
        return replace(state, tasks={**state.tasks, chill: record})

    assert all_told(measured(5.1), "Wed 12:45")[CHILL] is True
    assert CHILL not in all_told(measured(5.0), "Wed 12:45")
