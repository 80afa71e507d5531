"""Checks of probes, offsets, where they are put, and washing between allergens."""

from datetime import timedelta

import pytest
from CoolProp.CoolProp import PropsSI
from fluids.atmosphere import ATMOSPHERE_1976

from orchestrator.core.alarms import conditions
from orchestrator.core.due import next_due
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import EVENTS
from orchestrator.core.ids import AlarmId, EquipmentId, ProbeId, TaskId
from orchestrator.core.models.alarm import AlarmKind, Help, Priority
from orchestrator.core.probe_events import ProbeAssigned, ProbeChecked, ProbeOffsetApplied, ProbeWashAsked
from orchestrator.core.probe_traces import failed_check, judged_by, sittings, touched
from tests.core.script import Script, at_target, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at

HOB = ProbeId("hob-1-core")
COOK = "early-cook"


def checked(script: Script, when: str, shown_c: float, point: str = "ice", **more: object) -> ProbeChecked:
    event, *_ = script.give(when, "check_probe", probe=HOB, point=point, shown_c=shown_c, person=COOK, **more)
    assert isinstance(event, ProbeChecked)
    return event


# Accuracy asked of a food thermometer: ±1 °C, ±2 °F on a scale in °F only. Source: FDA Food Code 2022, 4-203.11.
@pytest.mark.parametrize(
    ("unit", "shown_c", "passed"),
    [("C", 1.0, True), ("C", -1.0, True), ("C", 1.1, False), ("C", -1.1, False), ("F", 1.11, True), ("F", 1.12, False)],
)
def test_check_in_ice_water_passes_within_the_tolerance_of_the_unit(unit: str, shown_c: float, passed: bool) -> None:
    event = checked(in_a_planned_kitchen(temperature_unit=unit), "Wed 07:00", shown_c)
    assert (event.expected_c, event.passed, event.person) == (0.0, passed, COOK)
    assert event.source == "FDA Food Code 2022, 4-203.11"


@pytest.mark.parametrize("altitude_m", [0, 500, 1609, 3000])
def test_check_in_boiling_water_is_against_the_boiling_point_at_the_kitchens_altitude(altitude_m: int) -> None:
    event = checked(in_a_planned_kitchen(altitude_m=altitude_m), "Wed 07:00", 99.0, "boiling")
    # Two reference libraries: pressure by fluids (US Standard Atmosphere 1976), saturation by CoolProp.
    boils = PropsSI("T", "P", ATMOSPHERE_1976(altitude_m).P, "Q", 0, "Water") - 273.15
    assert event.expected_c == pytest.approx(boils, abs=0.01)
    assert event.altitude_m == altitude_m
    assert event.passed is (abs(99.0 - boils) <= 1.0)


def test_check_beside_a_reference_needs_its_reading() -> None:
    script = in_a_planned_kitchen()
    refusal = script.refused("Wed 07:00", "check_probe", probe=HOB, point="reference", shown_c=4.0, person=COOK)
    assert refusal.code is RefusalCode.BAD_VALUE
    assert checked(script, "Wed 07:01", 4.0, "reference", reference_c=4.6).expected_c == 4.6


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("check_probe", {"point": "ice", "shown_c": 0.2}),
        ("apply_offset", {"offset_c": 0.2}),
        ("assign_probe", {"equipment": "fridge"}),
        ("confirm_washed", {}),
    ],
)
def test_acts_on_a_probe_need_a_person_and_a_probe_of_the_kitchen(kind: str, what: dict[str, object]) -> None:
    script = in_a_planned_kitchen()
    assert script.refused("Wed 07:00", kind, probe=HOB, **what).code is RefusalCode.NOT_ALLOWED
    assert script.refused("Wed 07:00", kind, probe="toaster", person=COOK, **what).code is RefusalCode.UNKNOWN


def test_failed_check_names_every_lot_judged_since_the_last_good_one() -> None:
    script = in_a_planned_kitchen()
    checked(script, "Wed 07:00", 0.3)
    with_base_aged(script)
    good = checked(script, "Wed 10:20", 0.2)
    assert (good.in_doubt, good.doubt_since) == ((), None)
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=COOK)
    failed = checked(script, "Wed 11:10", 1.8)
    # C1 was off the hob before the good check.
    assert (failed.passed, failed.in_doubt, failed.doubt_since) == (False, ("S1",), at("Wed 10:20"))
    never = in_a_planned_kitchen()
    with_base_aged(never)
    assert checked(never, "Wed 10:20", -2.0).in_doubt == ("C1",)


def test_probe_moved_away_puts_only_what_it_watched_in_doubt() -> None:
    script = in_a_planned_kitchen()
    with_base_aged(script)
    script.give("Wed 10:20", "assign_probe", probe=HOB, equipment="freezer", person=COOK)
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=COOK)
    assert judged_by(script.state, HOB, None) == ("C1",)
    assert [(s.equipment, s.until) for s in sittings(script.state, HOB)] == [
        ("hob-1", at("Wed 10:20")),
        ("freezer", None),
    ]


def test_failed_check_is_an_alarm_with_the_lots_in_doubt_until_a_good_one() -> None:
    script = in_a_planned_kitchen()
    with_base_aged(script)
    checked(script, "Wed 10:20", -2.0)
    assert script.state.probes.failed(HOB) is not None
    checked(script, "Wed 10:25", 0.1)
    assert script.state.probes.failed(HOB) is None
    assert [c.passed for c in script.state.probes.checks[HOB]] == [False, True]


def test_offset_is_applied_only_as_the_check_showed_it_and_only_from_then_on() -> None:
    script = in_a_planned_kitchen()
    assert script.refused("Wed 07:00", "apply_offset", probe=HOB, offset_c=-1.4, person=COOK).status == (
        "no check since the last offset"
    )
    checked(script, "Wed 07:01", 1.4)
    assert script.state.probes.offset_at(HOB, at("Wed 07:01")) == 0.0  # nobody has confirmed anything
    stale = script.refused("Wed 07:02", "apply_offset", probe=HOB, offset_c=-1.0, person=COOK)
    assert (stale.code, stale.status) == (RefusalCode.STALE, "the last check asks for -1.4 °C")
    (event,) = script.give("Wed 07:03", "apply_offset", probe=HOB, offset_c=-1.4, person=COOK)
    assert event == ProbeOffsetApplied(probe=HOB, at=at("Wed 07:03"), person=event.person, offset_c=-1.4)  # type: ignore[union-attr]
    book = script.state.probes
    assert [book.offset_at(HOB, at(f"Wed 07:0{m}")) for m in (2, 3, 4)] == [0.0, -1.4, -1.4]
    assert book.failed(HOB) is None
    # Once more, and away with it.
    script.refused("Wed 07:05", "apply_offset", probe=HOB, offset_c=-1.4, person=COOK)
    checked(script, "Wed 07:06", 0.4)
    script.give("Wed 07:07", "apply_offset", probe=HOB, offset_c=-1.8, person=COOK)
    script.give("Wed 07:08", "apply_offset", probe=HOB, offset_c=0, person=COOK)
    assert script.state.probes.offset_at(HOB, at("Wed 07:08")) == 0.0
    assert script.refused("Wed 07:09", "apply_offset", probe=HOB, offset_c=0, person=COOK).status == "it has no offset"


def test_probe_that_is_far_off_is_replaced_not_corrected() -> None:
    script = in_a_planned_kitchen()
    checked(script, "Wed 07:00", 3.4)
    refusal = script.refused("Wed 07:01", "apply_offset", probe=HOB, offset_c=-3.4, person=COOK)
    assert (refusal.status, refusal.remedy) == ("it is off by more than 3 °C", "take another probe")


def test_check_is_due_after_the_kitchens_time_and_named_in_advance() -> None:
    script = in_a_planned_kitchen(warnings={"probe_check": 60})
    before = conditions(script.state, {}, at("Wed 06:59"))
    assert not [a for a, f in before.items() if f.kind is AlarmKind.PROBE_CHECK_DUE]
    due = next_due(script.state, at("Wed 06:58"))
    assert due is not None
    assert due <= at("Wed 07:00")
    found = conditions(script.state, {}, at("Wed 07:00"))
    facts = found[next(a for a in found if a == f"probe_check_due:{HOB}")]
    assert (facts.priority, facts.helps, facts.since) == (Priority.NOTICE, (Help.CHECK_PROBE,), at("Wed 07:00"))
    checked(script, "Wed 07:10", 0.1)
    assert f"probe_check_due:{HOB}" not in conditions(script.state, {}, at("Wed 08:09"))
    assert f"probe_check_due:{HOB}" in conditions(script.state, {}, at("Wed 08:10"))


def test_probe_is_put_to_a_machine_and_into_a_tasks_food() -> None:
    script = in_a_planned_kitchen()
    (moved,) = script.give("Wed 07:00", "assign_probe", probe=HOB, equipment="fridge", reads="air", person=COOK)
    assert isinstance(moved, ProbeAssigned)
    assert script.state.kitchen is not None
    probe = next(p for p in script.state.kitchen.probes if p.id == HOB)
    assert (probe.equipment, probe.reads, moved.before) == ("fridge", "air", "hob-1")
    (into,) = script.give("Wed 07:10", "assign_probe", probe=HOB, task="C1.chill", person=COOK)
    assert isinstance(into, ProbeAssigned)
    assert (into.equipment, into.reads, into.task) == ("ice-bath", "core", "C1.chill")
    assert script.state.probes.task_of(HOB) == "C1.chill"


@pytest.mark.parametrize(
    ("what", "status"),
    [
        ({}, "it goes to one place"),
        ({"task": "C1.cook", "equipment": "hob-1"}, "it goes to one place"),
        ({"equipment": "sauna"}, "no such machine"),
        ({"task": "C9.cook"}, "not in the present plan"),
        ({"equipment": "churn", "reads": "air"}, "churn has no temperatures that its air is kept at"),
    ],
)
def test_probe_is_not_put_where_it_cannot_be(what: dict[str, str], status: str) -> None:
    assert in_a_planned_kitchen().refused("Wed 07:00", "assign_probe", probe=HOB, person=COOK, **what).status == status


def sorbet_after_custard(script: Script) -> tuple[object, ...]:
    with_base_aged(script)
    return script.give("Wed 10:30", "start_task", task="S1.simmer", person=COOK)


def test_probe_that_goes_from_custard_into_sorbet_must_be_said_to_be_washed() -> None:
    script = in_a_planned_kitchen()
    asked = [e for e in sorbet_after_custard(script) if isinstance(e, ProbeWashAsked)]
    assert [(e.probe, e.task, e.lot, e.after, e.allergens) for e in asked] == [
        (HOB, "S1.simmer", "S1", ("C1",), ("egg", "milk"))
    ]
    found = conditions(script.state, script.facts, at("Wed 15:00"))  # told until it is answered
    facts = found[next(a for a in found if a == f"probe_unwashed:{HOB}")]
    assert (facts.priority, facts.lot, facts.helps) == (Priority.WARNING, "S1", (Help.SAY_WASHED, Help.LOOK_AT_LOTS))
    assert facts.reason == "it was in C1 (egg, milk) and is now in S1"
    script.give("Wed 15:01", "confirm_washed", probe=HOB, person=COOK)
    washed = script.state.probes.washes[HOB]
    assert (washed.person, washed.at) == (COOK, at("Wed 15:01"))
    assert f"probe_unwashed:{HOB}" not in conditions(script.state, script.facts, at("Wed 15:01"))


def test_probe_washed_before_the_sorbet_is_not_asked_about() -> None:
    script = in_a_planned_kitchen()
    with_base_aged(script)
    script.give("Wed 10:29", "confirm_washed", probe=HOB, person=COOK)
    started = script.give("Wed 10:30", "start_task", task="S1.simmer", person=COOK)
    assert not [e for e in started if isinstance(e, ProbeWashAsked)]
    assert touched(script.state, HOB) == {"S1": frozenset()}


def test_probe_washed_while_the_custard_cooks_is_soiled_anew_by_it_and_asked_about_before_the_sorbet() -> None:
    """FDA Food Code 2022, 4-602.11(A): what touches food is cleaned between uses, and 3-302.11: nothing crosses from
    food to food; both from memory. A wash counts until the probe is in food again."""
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    script.give("Wed 08:20", "confirm_washed", probe=HOB, person=COOK)
    assert touched(script.state, HOB) == {"C1": frozenset({"egg", "milk"})}
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=COOK)
    started = script.give("Wed 10:30", "start_task", task="S1.simmer", person=COOK)
    assert [(e.after, e.lot) for e in started if isinstance(e, ProbeWashAsked)] == [(("C1",), "S1")]


def test_probe_washed_at_the_minute_at_which_the_custard_ended_is_clean() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=COOK)
    assert touched(script.state, HOB) == {"C1": frozenset({"egg", "milk"})}
    script.give("Wed 08:40", "confirm_washed", probe=HOB, person=COOK)
    assert touched(script.state, HOB) == {}


def test_probe_that_stays_with_the_same_allergens_is_not_asked_about() -> None:
    script = in_a_planned_kitchen()
    started = script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    assert not [e for e in started if isinstance(e, ProbeWashAsked)]


@pytest.mark.parametrize("where", [{"task": "S1.simmer"}, {"equipment": "hob-1"}], ids=["the food", "its machine"])
def test_probe_carried_from_the_custard_to_the_sorbet_is_asked_about_at_once(where: dict[str, str]) -> None:
    script = in_a_planned_kitchen()
    with_base_aged(script)
    script.give("Wed 10:20", "confirm_washed", probe=HOB, person=COOK)
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=COOK)
    bath = ProbeId("ice-bath-core")
    events = script.give("Wed 10:40", "assign_probe", probe=bath, person=COOK, **where)
    assert [(e.kind, e.probe) for e in events] == [("probe_assigned", bath), ("probe_wash_asked", bath)]  # type: ignore[union-attr]


def test_probe_carried_to_a_machine_without_food_in_hand_or_into_its_air_is_not_asked_about() -> None:
    script = in_a_planned_kitchen()
    with_base_aged(script)
    bath = ProbeId("ice-bath-core")
    for place in ({"equipment": "hob-1"}, {"equipment": "freezer", "reads": "air"}):
        events = script.give("Wed 10:20", "assign_probe", probe=bath, person=COOK, **place)
        assert [e.kind for e in events] == ["probe_assigned"]


def test_events_of_probes_are_replayed_to_the_same_state() -> None:
    script = in_a_planned_kitchen()
    checked(script, "Wed 07:01", 1.4)
    script.give("Wed 07:03", "apply_offset", probe=HOB, offset_c=-1.4, person=COOK)
    sorbet_after_custard(script)
    again = Script()
    for entry in script.log:
        event = EVENTS.validate_json(EVENTS.dump_json(entry.event))
        again.record(entry.command_id, (event,))
    assert again.state.probes == script.state.probes
    assert again.state.kitchen == script.state.kitchen


def test_alarm_of_a_failed_check_comes_with_the_fact() -> None:
    script = in_a_planned_kitchen()
    with_base_aged(script)
    event = checked(script, "Wed 10:20", -2.0)
    script.reads(HOB, "hob-1", celsius=20.0, health=(failed_check(event),))
    assert script.state.alarms  # it was told with the check, before any reading
    facts = conditions(script.state, script.facts, at("Wed 10:21"))[AlarmId(f"probe_doubted:{HOB}")]
    assert (facts.lots, facts.helps) == (("C1",), (Help.LOOK_AT_LOTS, Help.CHECK_PROBE))
    assert (facts.health[0].amount, facts.health[0].limit) == (-2.0, 1.0)
    # A probe that has sent nothing since its check is told of all the same.
    script.facts = {}
    assert f"probe_doubted:{HOB}" in conditions(script.state, {}, at("Wed 10:21"))


def test_seconds_before_the_good_check_do_not_count() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    checked(script, "Wed 08:10", 0.0)
    at_target(script, "C1.cook", HOB, "hob-1", 83)
    # The custard is still on the hob: what was read since the check is in doubt with it.
    assert checked(script, "Wed 08:20", 2.0).in_doubt == ("C1",)
    assert script.state.record(TaskId("C1.cook")).started_at == at("Wed 08:20") - timedelta(minutes=20)
    assert EquipmentId("hob-1") == next(s.equipment for s in sittings(script.state, HOB))
