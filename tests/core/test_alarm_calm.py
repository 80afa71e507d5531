"""What a new plan may still mend is not told yet; and nothing is held back that presses, or for long."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.alarms import conditions
from orchestrator.core.alarms.holding_back import held_until
from orchestrator.core.due import next_due
from orchestrator.core.events import AlarmRaised, PlanAdopted, ReplanWanted
from orchestrator.core.ids import AlarmId, CommandId, EquipmentId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.planning import PLAN_PATIENCE as PATIENCE
from orchestrator.core.state import State
from tests.core.alarm_script import all_told, step, stopped
from tests.core.script import Script, at_target, in_a_planned_kitchen, with_base_aged
from tests.core.test_alarms_targets import CHILL, _chill_in_hand, _chilling
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan
from tests.fakes.states import base_ageing, with_events

WINDOW = AlarmId("window_closing:S1.churn")


def _churn_stopped(until: str = "Fri 13:00") -> Script:
    """S1 may rest until Friday 12:00; the churn stops on Thursday morning until after that."""
    script = with_base_aged(in_a_planned_kitchen())
    for when, kind, task in (
        ("Wed 10:30", "start_task", "S1.simmer"),
        ("Wed 11:00", "finish_task", "S1.simmer"),
        ("Wed 11:00", "start_task", "S1.chill"),
        ("Wed 12:00", "finish_task", "S1.chill"),
    ):
        at_target(script, "S1.chill", "ice-bath-core", "ice-bath", 4)
        script.give(when, kind, task=task, person="early-cook")
    script.give("Thu 08:00", "stop_machine", equipment="churn", until=at(until), reason="belt", person="early-cook")
    return script


def _raised(script: Script) -> set[str]:
    return {str(e.alarm) for e in script.last.events if isinstance(e, AlarmRaised)}


def test_miss_that_the_live_plan_foresees_waits_for_the_new_plan_while_the_stop_itself_is_told() -> None:
    script = _churn_stopped()
    assert _raised(script) == {"machine_stopped:churn"}
    assert WINDOW not in script.state.alarms
    script.give("Thu 08:01", "tick")
    assert WINDOW not in script.state.alarms


def test_miss_that_no_plan_mends_is_told_two_minutes_later_and_the_timer_is_armed_for_it() -> None:
    script = _churn_stopped()
    assert held_until(script.state) == at("Thu 08:02")
    assert next_due(script.state, at("Thu 08:00")) == at("Thu 08:02")
    script.give("Thu 08:02", "tick")
    assert WINDOW in _raised(script)


def test_miss_that_the_new_plan_still_has_is_told_with_the_plan() -> None:
    script = _churn_stopped()
    plan = script.state.plan
    assert plan is not None
    script.record(CommandId("full"), (PlanAdopted(plan=plan, at=script.now, person=None),))
    script.give("Thu 08:01", "tick")
    assert WINDOW in _raised(script)


def test_miss_that_is_mended_before_it_was_told_is_never_told() -> None:
    script = _churn_stopped()
    assert held_until(script.state) == at("Thu 08:02")
    script.give("Thu 08:01", "machine_back", equipment="churn", person="early-cook")
    for when in ("Thu 08:02", "Thu 08:03", "Thu 08:05"):
        script.give(when, "tick")
    told = [r.event.alarm for r in script.log if isinstance(r.event, AlarmRaised)]
    assert "machine_stopped:churn" in told
    assert WINDOW not in told


def test_later_wish_does_not_prolong_the_waiting_and_one_after_it_begins_anew() -> None:
    state = with_events(base_ageing(), [ReplanWanted(at=at("Thu 08:00"), reason="drift")], at("Thu 08:00"))
    state = with_events(state, [ReplanWanted(at=at("Thu 08:01"), reason="more")], at("Thu 08:01"))
    assert held_until(state) == at("Thu 08:00") + PATIENCE
    state = with_events(state, [ReplanWanted(at=at("Thu 08:30"), reason="again")], at("Thu 08:30"))
    assert held_until(state) == at("Thu 08:30") + PATIENCE
    adopted = PlanAdopted(plan=small_plan(), at=at("Thu 08:31"), person=None)
    state = with_events(state, [adopted], at("Thu 08:31"))
    assert held_until(state) is None


def _wanted(state: State, now: str) -> State:
    return replace(state, replan_reason="drift", replan_wanted_at=at(now))


@pytest.mark.parametrize(
    ("now", "told"),
    [
        ("Fri 10:57", False),  # S1's window closes at 12:00: its lead of an hour is left after the two minutes
        ("Fri 10:59", True),
        ("Fri 11:30", True),
        ("Fri 12:01", True),
    ],
)
def test_nothing_is_held_back_within_the_lead_time_before_its_limit(now: str, told: bool) -> None:
    state = stopped(base_ageing(), "churn", "Thu 08:00", "Fri 13:00")
    assert (WINDOW in all_told(_wanted(state, now), now)) is told


def test_what_stands_stands_while_a_new_plan_is_wanted() -> None:
    state, raised = step(stopped(base_ageing(), "churn", "Thu 08:00", "Fri 13:00"), "Thu 08:05")
    assert ("raised", WINDOW) in raised
    assert step(_wanted(state, "Thu 08:06"), "Thu 08:06")[1] == []


def test_late_start_on_a_machine_just_back_waits_for_the_new_plan() -> None:
    state = base_ageing()
    assert "task_late:B1.churn" in all_told(state, "Thu 09:10")
    assert "task_late:B1.churn" not in all_told(_wanted(state, "Thu 09:10"), "Thu 09:11")
    assert "task_late:B1.churn" in all_told(_wanted(state, "Thu 09:10"), "Thu 09:12")


@settings(max_examples=60, deadline=None)
@given(st.integers(8 * 60, 29 * 60), st.integers(0, 10))
def test_whatever_is_held_back_is_told_in_two_minutes_and_a_lead_time_before_its_miss(minute: int, ago: int) -> None:
    state = stopped(base_ageing(), "churn", "Thu 08:00", "Fri 13:00")
    now = at("Thu 00:00") + timedelta(minutes=minute)
    state = replace(state, replan_reason="drift", replan_wanted_at=now - timedelta(minutes=ago))
    plain = conditions(replace(state, replan_reason=""), {}, now, advise=False)
    held = set(plain) - set(conditions(state, {}, now, advise=False))
    until = held_until(state)
    for alarm in held:
        facts = plain[alarm]
        assert until is not None
        assert now < until <= now + PATIENCE
        assert not facts.missed
        if facts.kind is AlarmKind.WINDOW_CLOSING:
            assert facts.limit_at is not None
            assert facts.limit_at - until >= timedelta(minutes=60)
    told_then = conditions(state, {}, now + PATIENCE, advise=False)
    assert held <= set(told_then)


def test_estimate_that_breathes_or_is_lost_is_one_warning_and_more_time_ends_it() -> None:
    # The chill may take until 12:45.
    late = _chilling(arrival_from=at("Wed 12:50"), arrival_to=at("Wed 13:30"))
    state, told = step(_chill_in_hand(), "Wed 11:00", late)
    assert ("raised", CHILL) in told

    def over(*arrival: str) -> bool:
        times = {"arrival_from": at(arrival[0]), "arrival_to": at(arrival[1])} if arrival else {}
        return CHILL not in all_told(state, "Wed 11:05", _chilling(**times))

    assert not over("Wed 12:40", "Wed 13:20")
    assert not over()
    assert over("Wed 12:10", "Wed 12:50")
    assert CHILL not in all_told(_chill_in_hand(), "Wed 11:05", _chilling(arrival_from=at("Wed 12:40")))
    longer = replace(state.tasks["C1.chill"], extended_min=60)  # type: ignore[index]
    given_time = replace(state, tasks={**state.tasks, "C1.chill": longer})  # type: ignore[dict-item]
    assert CHILL not in all_told(given_time, "Wed 11:05", late)


def test_store_within_its_deadband_raises_nothing_and_takes_nothing_back() -> None:
    inside = ProbeFact(
        probe="freezer-air",  # type: ignore[arg-type]
        equipment=EquipmentId("freezer"),
        celsius=-15.2,
        unsettled_since=at("Fri 02:00"),
    )
    assert "store_warm:freezer" not in all_told(base_ageing(), "Fri 02:30", inside)
    out = inside.model_copy(update={"celsius": -14.8, "outside_since": at("Fri 02:30")})
    state, told = step(base_ageing(), "Fri 02:30", out)
    assert ("raised", "store_warm:freezer") in told
    assert all_told(state, "Fri 02:31", inside)["store_warm:freezer"] is True
    settled = inside.model_copy(update={"unsettled_since": None})
    assert ("returned", "store_warm:freezer") in step(state, "Fri 02:40", settled)[1]
