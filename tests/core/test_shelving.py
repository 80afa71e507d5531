"""The shelf: by a named person, with an end and a reason; it ends by itself, and never hides what is critical."""

from collections.abc import Mapping
from datetime import timedelta

import pytest

from orchestrator.core.alarm_rationale import RATIONALE, critical_for_food, suppressible
from orchestrator.core.alarms import conditions
from orchestrator.core.alarms.changes import changes
from orchestrator.core.decide import Decision
from orchestrator.core.due import next_due
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import Event
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Priority
from orchestrator.core.shelving import BEFORE, LEAST, LONGEST, latest_end, why_not
from orchestrator.core.state import State
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at
from tests.fakes.states import with_events

LATE = AlarmId("task_late:C1.cook")
SILENT = AlarmId("probe_silent:freezer-air")


def _silent() -> Script:
    """The probe of the empty freezer is silent since 06:30; that is a notice."""
    script = in_a_planned_kitchen()
    script.reads("freezer-air", "freezer", celsius=-18.0, silent_since=at("Wed 06:30"))
    script.give("Wed 06:40", "tick")
    assert script.state.alarms[SILENT].facts.priority is Priority.NOTICE
    return script


def _shelved(minutes: int = 60) -> Script:
    script = _silent()
    script.give("Wed 06:45", "shelve_alarm", alarm=SILENT, minutes=minutes, reason="battery ordered", person="manager")
    return script


def told(script: Script) -> list[str]:
    return [event.kind for event in script.last.events]


def test_shelve_is_on_record_with_person_end_and_reason_and_keeps_the_alarm() -> None:
    script = _shelved()
    alarm = script.state.alarms[SILENT]
    assert (alarm.status, alarm.shelved_by, alarm.shelved_until) == (
        AlarmStatus.SHELVED,
        "manager",
        at("Wed 07:45"),
    )
    assert (alarm.shelf_reason, alarm.standing, alarm.shelved) == ("battery ordered", True, True)


def test_shelve_without_a_name_a_reason_or_twice_is_refused() -> None:
    script = _silent()
    what = {"alarm": SILENT, "minutes": 60, "reason": "battery ordered"}
    assert script.refused("Wed 06:45", "shelve_alarm", **what).remedy == "say who you are"
    with pytest.raises(ValueError, match="reason"):
        script.try_("Wed 06:45", "shelve_alarm", **{**what, "reason": ""}, person="manager")
    script.give("Wed 06:45", "shelve_alarm", **what, person="manager")
    again = script.refused("Wed 06:50", "shelve_alarm", **what, person="early-cook")
    assert (again.status, again.remedy) == ("quiet until Wed 07:45 by manager", "take it off the shelf first")
    assert script.refused("Wed 06:51", "acknowledge_alarm", alarm=SILENT, person="manager").status == again.status
    unknown = script.refused("Wed 06:52", "shelve_alarm", **{**what, "alarm": "order_late:X"}, person="manager")
    assert unknown.code is RefusalCode.UNKNOWN


def test_shelf_is_bounded_by_priority_and_the_refusal_says_until_when() -> None:
    refusal = _silent().refused(
        "Wed 06:45", "shelve_alarm", alarm=SILENT, minutes=721, reason="battery ordered", person="manager"
    )
    assert (refusal.code, refusal.remedy) == (RefusalCode.BAD_VALUE, "at most until Wed 18:45")
    # Longest by how much it matters: what matters more is quiet for less long.
    assert LONGEST[Priority.CRITICAL] < LONGEST[Priority.WARNING] < LONGEST[Priority.NOTICE]


def test_shelf_ends_by_itself_and_tells_again_while_the_cause_stands() -> None:
    script = _shelved()
    due = next_due(script.state, at("Wed 07:00"))
    assert due is not None
    assert due <= at("Wed 07:45")
    script.give("Wed 07:44", "tick")
    assert script.state.alarms[SILENT].shelved
    script.give("Wed 07:45", "tick")
    assert told(script) == ["alarm_unshelved"]
    alarm = script.state.alarms[SILENT]
    assert (alarm.status, alarm.unshelved_at) == (AlarmStatus.UNACKNOWLEDGED, at("Wed 07:45"))
    assert next_due(script.state, at("Wed 07:46")) != at("Wed 07:45")


def test_shelf_outlives_a_cause_that_comes_and_goes_and_is_empty_when_it_ends_without_one() -> None:
    script = _shelved()
    script.reads("freezer-air", "freezer", celsius=-18.0)
    script.give("Wed 07:00", "tick")
    assert told(script) == ["alarm_returned"]
    assert (script.state.alarms[SILENT].shelved, script.state.alarms[SILENT].standing) == (True, False)
    script.reads("freezer-air", "freezer", celsius=-18.0, silent_since=at("Wed 07:05"))
    script.give("Wed 07:15", "tick")
    assert told(script) == ["alarm_raised"]
    assert (script.state.alarms[SILENT].shelved, script.state.alarms[SILENT].standing) == (True, True)
    script.reads("freezer-air", "freezer", celsius=-18.0)
    script.give("Wed 07:20", "tick")
    script.give("Wed 07:45", "tick")
    assert told(script) == ["alarm_unshelved"]
    assert SILENT not in script.state.alarms


def test_unshelve_by_a_named_person_tells_again_at_once() -> None:
    script = _shelved()
    assert script.refused("Wed 07:00", "unshelve_alarm", alarm=SILENT).code is RefusalCode.NOT_ALLOWED
    script.give("Wed 07:00", "unshelve_alarm", alarm=SILENT, person="early-cook")
    assert script.state.alarms[SILENT].status is AlarmStatus.UNACKNOWLEDGED
    again = script.refused("Wed 07:01", "unshelve_alarm", alarm=SILENT, person="early-cook")
    assert (again.code, again.status) == (RefusalCode.WRONG_STATE, "not quiet")


def test_what_becomes_worse_comes_off_the_shelf() -> None:
    script = _shelved(700)
    # Food in the freezer makes a warning of the notice.
    state = script.state
    facts = state.alarms[SILENT].facts.model_copy(update={"priority": Priority.WARNING})
    (event,) = changes(state.alarms, {SILENT: facts}, at("Wed 09:00"))
    assert event.kind == "alarm_escalated"
    assert _after(state, event).alarms[SILENT].status is AlarmStatus.UNACKNOWLEDGED


def _after(state: State, *events: Event) -> State:
    return with_events(state, events, at("Wed 09:00"))


def _warm(missed: bool) -> Script:
    script = in_a_planned_kitchen()
    script.reads("freezer-air", "freezer", celsius=-9.0, slope_c_per_min=0.2, outside_since=at("Wed 06:30"))
    script.give("Wed 06:51" if missed else "Wed 06:41", "tick")
    return script


def test_critical_alarm_about_food_cannot_be_shelved_and_says_what_to_do_instead() -> None:
    store = "store_warm:freezer"
    refusal = _warm(missed=True).refused(
        "Wed 06:52", "shelve_alarm", alarm=store, minutes=5, reason="door was open", person="manager"
    )
    assert refusal.code is RefusalCode.NOT_ALLOWED
    assert refusal.status == "critical for food: it cannot be made quiet"
    assert refusal.remedy == (
        "mark it as seen, which ends its sound; then move the food to a store that is cold, and measure it by hand"
    )


def test_shelf_always_leaves_time_before_the_miss() -> None:
    # The freezer's grace ends 06:50, ten minutes before that is now.
    refusal = _warm(missed=False).refused(
        "Wed 06:42", "shelve_alarm", alarm="store_warm:freezer", minutes=5, reason="door was open", person="manager"
    )
    assert refusal.status == "too little time left to make it quiet"


@pytest.mark.parametrize("kind", AlarmKind)
@pytest.mark.parametrize("priority", Priority)
@pytest.mark.parametrize("left_min", [0, 5, 14, 16, 60, 600, None])
def test_no_shelf_reaches_past_a_miss_or_holds_what_is_critical_for_food(
    kind: AlarmKind, priority: Priority, left_min: int | None
) -> None:
    now = at("Wed 06:42")
    limit = None if left_min is None else now + timedelta(minutes=left_min)
    facts = AlarmFacts(kind=kind, priority=priority, limit_at=limit)
    alarm = Alarm(id=AlarmId("x"), facts=facts, status=AlarmStatus.ACKNOWLEDGED, raised_at=now)
    allowed = why_not(alarm, now) is None
    assert not (allowed and critical_for_food(facts))
    if allowed:
        end = latest_end(facts, now)
        assert now + LEAST <= end <= now + LONGEST[priority]
        assert limit is None or limit <= now or end <= limit - BEFORE


def test_nothing_that_holds_food_is_ever_suppressed_by_design() -> None:
    suppressed: Mapping[AlarmKind, AlarmKind | None] = {kind: suppressible(kind) for kind in AlarmKind}
    assert {kind: by for kind, by in suppressed.items() if by} == {AlarmKind.TASK_LATE: AlarmKind.WINDOW_CLOSING}
    assert not any(RATIONALE[kind].food for kind, by in suppressed.items() if by)


def test_replay_knows_the_shelf() -> None:
    script = _shelved()
    script.give("Wed 07:00", "tick")
    state = State()
    for entry in script.log:
        state = evolve(state, entry)
    assert state == script.state


def test_shelved_alarms_still_agree_with_what_is_so() -> None:
    script = _shelved()
    for minute in range(0, 180, 7):
        now = at("Wed 06:50") + timedelta(minutes=minute)
        outcome = script.try_(now, "tick")
        assert isinstance(outcome, Decision)
        standing = {a.id for a in script.state.alarms.values() if a.standing}
        assert standing == set(conditions(script.state, script.facts, now))
