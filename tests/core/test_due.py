"""The next due instant: nothing changes by time alone before it."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.alarms import conditions
from orchestrator.core.due import next_due
from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import MachineStop, Proposal, State
from tests.fakes.kitchens import WED, at
from tests.fakes.states import base_ageing, begun, done, hardening, planned


def _told(state: State, now: datetime) -> dict[str, bool]:
    return {str(alarm): facts.missed for alarm, facts in conditions(state, state.facts, now).items()}


def _stopped(until: str | None) -> State:
    stop = MachineStop(since=at("Thu 08:30"), until=at(until) if until else None, reason="", by=None)
    return replace(base_ageing(), machines={EquipmentId("churn"): stop})


def _warm() -> State:
    fact = ProbeFact(
        probe=ProbeId("freezer-air"), equipment=EquipmentId("freezer"), celsius=-9.0, outside_since=at("Fri 02:07")
    )
    return replace(hardening(), facts={fact.probe: fact})


def _chilling() -> State:
    return begun(done(planned(), "C1.cook", "Wed 08:00", "Wed 08:40"), "C1.chill", "Wed 08:45")


STATES: dict[str, Callable[[], State]] = {
    "nothing begun": planned,
    "cooking": lambda: begun(planned(), "C1.cook", "Wed 08:00"),
    "chilling": _chilling,
    "ageing": base_ageing,
    "churn stopped until Friday": lambda: _stopped("Fri 09:00"),
    "churn stopped": lambda: _stopped(None),
    "hardening": hardening,
    "freezer warm": _warm,
    "late churn": lambda: begun(base_ageing(), "B1.churn", "Fri 20:00"),
}


@pytest.mark.parametrize(
    ("state", "now", "due"),
    [
        # Planned start, then ten minutes later it is late.
        ("nothing begun", "Wed 07:00", "Wed 08:00"),
        ("nothing begun", "Wed 08:00", "Wed 08:10"),
        # In hand: the next planned start; and, after the break, the longest four hours of the chill.
        ("cooking", "Wed 08:00", "Wed 08:45"),
        ("chilling", "Wed 12:31", "Wed 12:45"),
        # Half the store's grace of 20 minutes, then all of it.
        ("freezer warm", "Fri 02:10", "Fri 02:17"),
        ("freezer warm", "Fri 02:17", "Fri 02:27"),
        # Two hours before the order is due; then the hand-over's planned start.
        ("hardening", "Sat 08:00", "Sat 09:00"),
    ],
)
def test_next_due_is_the_earliest_instant(state: str, now: str, due: str) -> None:
    assert next_due(STATES[state](), at(now)) == at(due)


def test_next_due_foresees_an_order_that_becomes_late_with_no_instant_named_for_it() -> None:
    # Temper 10:20, hand over by 10:50, due 11:00: started at 10:31 it is a minute late.
    # Found by halving, and told on the very second: whoever looks at 10:31 must have been woken by then.
    for seconds in (0, 13, 59):
        assert next_due(hardening(), at("Sat 10:30") + timedelta(seconds=seconds)) == at("Sat 10:31")


def test_next_due_with_a_proposal_waiting_is_at_the_latest_when_it_lapses() -> None:
    state = planned()
    assert state.plan is not None
    proposal = Proposal(seq=2, plan=state.plan, moves=(), waits_for=(), decide_by=at("Wed 07:20"))
    assert next_due(replace(state, proposal=proposal), at("Wed 07:00")) == at("Wed 07:20")


def test_next_due_without_a_plan_is_none() -> None:
    assert next_due(State(), at("Wed 07:00")) is None


@settings(max_examples=120, deadline=None)
@given(
    name=st.sampled_from(sorted(STATES)),
    minute=st.integers(min_value=6 * 60, max_value=5 * 24 * 60),
    part=st.floats(min_value=0.0, max_value=1.0),
)
def test_conditions_do_not_change_between_now_and_next_due(name: str, minute: int, part: float) -> None:
    state, now = STATES[name](), WED + timedelta(minutes=minute)
    due = next_due(state, now)
    if due is None:
        due = now + timedelta(days=30)
    assert due > now
    between = now + (due - now - timedelta(seconds=1)) * part
    if between > now:
        assert _told(state, between) == _told(state, now)


def test_next_due_foresees_a_risk_of_five_minutes_before_a_break() -> None:
    # Nothing was ever begun, so that time moves the whole plan. On Sunday the early cook's break begins at 12:30:
    # from 11:45 on chilling (5 min of hands) no longer follows cooking (40 min) at once; from 11:50 on cooking
    # itself waits until after the break, and chilling follows at once again.
    state, now = planned(), at("Sun 10:07")
    assert state.kitchen is not None
    # By then the planned days would have gone on, which no tick does here.
    state = replace(state, kitchen=state.kitchen.model_copy(update={"horizon_days": 7}))
    looked: list[datetime] = []
    while (due := next_due(state, now)) is not None and due < at("Sun 12:00"):
        looked.append(due)
        now = due
    told = [_told(state, instant) for instant in looked]
    assert [("window_closing:C1.chill" in one) for one in told if "window_closing:C1.chill" in one] == [True]
    assert "window_closing:C1.chill" not in told[-1]
