"""Readings by hand in limit verdicts: beside the probes', marked, and never hiding what a probe says.

Rows and times: FDA Food Code 2022, 3-501.14(A) (57 → 21 °C in 2 h, → 5 °C in 6 h), 3-501.16(A)(2) (5 °C),
3-401.11(A)(2) (68 °C for 17 s); ±1 °C of a food thermometer: 4-203.11. All as in the shipped limits.
"""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from orchestrator.core.alarms import conditions
from orchestrator.core.by_hand import beside, fills, readings_of, said_by_hand
from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Kitchen, Step
from orchestrator.core.models.alarm import AlarmKind, Priority
from orchestrator.core.models.limit import LimitId, LimitUse
from orchestrator.core.models.verdict import Kept, LimitVerdict
from orchestrator.core.views.task import task_view
from orchestrator.kitchen.shipped import shipped_limits
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged, with_base_chilling
from tests.fakes.kitchens import at, small_kitchen

EARLY = CrewId("early-cook")
BEGAN = at("Wed 08:45")


def _kitchen(unit: str = "C") -> Kitchen:
    return small_kitchen().model_copy(update={"limits": shipped_limits().limits, "temperature_unit": unit})


def _step(limit: str) -> Step:
    step = next(s for r in small_kitchen().recipes for s in r.steps if s.id == "chill")
    return step.model_copy(update={"limit": LimitUse(id=LimitId(limit))})


def _said(limit: str, *readings: tuple[float, float], now_min: float | None = None, unit: str = "C") -> LimitVerdict:
    taken = [(BEGAN + timedelta(minutes=minute), celsius, EARLY) for minute, celsius in readings]
    now = taken[-1][0] if now_min is None else BEGAN + timedelta(minutes=now_min)
    said = said_by_hand(_kitchen(unit), _step(limit), BEGAN, taken, now)
    assert said is not None
    return said


def test_cooling_measured_by_hand_in_both_legs_is_met_and_says_who() -> None:
    said = _said("two-leg-cooling", (0, 80.0), (15, 60.0), (30, 40.0), (50, 30.0), (70, 20.5), (89, 12.0), (105, 4.0))
    assert (said.status, said.of, said.tolerance_degrees) == ("met", "food", 1.0)
    assert {hand.by for hand in said.by_hand} == {EARLY}
    assert len(said.by_hand) == len(said.readings)
    first, second = said.legs
    assert (first.degrees, second.degrees) == (21.0, 5.0)
    # Along straight lines: 30 °C at 50 min and 20.5 at 70 is 21 at 68.9 min; 12 at 89 and 4 at 105 is 5 at 103 min; the
    # clock runs since 57 °C, 17 min 15 s after the start: 60 at 15 min and 40 at 30.
    minutes = [(instant - BEGAN).total_seconds() / 60 for instant in (first.at, first.by, second.at, second.by)]
    assert minutes == pytest.approx([68.95, 17.25 + 120, 103.0, 17.25 + 360], abs=0.01)


@pytest.mark.parametrize(
    ("minute", "status"),
    [(119, "met"), (120, "met"), (121, "not judged")],
    ids=["within the first leg", "on its last instant", "too late to know of the first leg"],
)
def test_one_reading_at_5_degrees_proves_both_legs_only_within_two_hours(minute: float, status: str) -> None:
    assert _said("two-leg-cooling", (minute, 5.0)).status == status


def test_warm_by_hand_after_two_hours_breaks_the_first_leg() -> None:
    said = _said("two-leg-cooling", (0, 80.0), (15, 56.0), (100, 30.0), (140, 23.0))
    assert (said.status, said.row) == ("broken", "first-leg")


@pytest.mark.parametrize(
    ("readings", "status"),
    [
        ([(0, 68.0)], "not yet"),
        ([(0, 68.0), (1, 68.0)], "met"),
        ([(0, 68.0), (1, 65.9)], "not yet"),
        ([(0, 68.0), (3, 68.0)], "not judged"),
    ],
    ids=[
        "one reading holds nothing",
        "two within the gap",
        "a tenth short of the row for one minute",
        "two further apart than the 2 min gap",
    ],
)
def test_hold_by_hand_needs_two_readings_without_too_long_a_gap(
    readings: list[tuple[float, float]], status: str
) -> None:
    assert _said("raw-egg", *readings).status == status


@pytest.mark.parametrize(
    ("celsius", "status", "doubt"),
    [(5.0, "met", True), (5.1, "broken", True), (6.1, "broken", False), (3.9, "met", False)],
)
def test_cold_holding_by_hand_says_whether_the_thermometer_could_have_turned_it(
    celsius: float, status: str, doubt: bool
) -> None:
    said = _said("cold-holding", (0, celsius))
    assert (said.status, said.within_tolerance) == (status, doubt)


def test_cold_holding_first_measured_long_after_it_began_is_not_judged() -> None:
    said = _said("cold-holding", (240, 3.0), (260, 3.0))
    assert (said.status, said.gap) == ("not judged", (BEGAN, BEGAN + timedelta(minutes=240)))


def test_fahrenheit_kitchen_is_judged_by_its_own_column_and_tolerance() -> None:
    """41 °F is printed beside 5 °C; ±2 °F on a °F scale."""
    said = _said("cold-holding", (0, (41.0 - 32.0) / 1.8), unit="F")
    assert (said.status, said.unit, said.tolerance_degrees, said.readings[0][1]) == ("met", "F", 2.0, 41.0)


def _verdict(status: str, **more: object) -> LimitVerdict:
    fields = {"limit": "two-leg-cooling", "title": "Cool", "applied": "a code", "tolerance_degrees": 1.0}
    return LimitVerdict.model_validate({**fields, "status": status, **more})


@pytest.mark.parametrize(
    ("probe", "hand", "decides"),
    [
        ("met", "not judged", "probe"),
        ("met", "not yet", "probe"),
        ("met", "broken", "hand"),
        ("not yet", "met", "probe"),
        ("will not be met in time", "met", "probe"),
        ("broken", "met", "probe"),
        ("broken", "broken", "probe"),
        ("not judged", "met", "hand"),
        ("not judged", "not yet", "probe"),
    ],
)
def test_reading_by_hand_never_hides_what_a_probe_says(probe: str, hand: str, decides: str) -> None:
    probes, by_hand = _verdict(probe, of="food"), _verdict(hand, row="by-hand")
    said = beside(probes, by_hand)
    assert said is (probes if decides == "probe" else by_hand)


@pytest.mark.parametrize(
    ("minute", "celsius", "settled"),
    [(110, 20.0, False), (110, 5.0, True), (121, 5.0, False), (119, 21.1, False)],
)
def test_gap_of_a_cooling_is_settled_by_what_proves_every_leg_left(
    minute: float, celsius: float, settled: bool
) -> None:
    gap = (BEGAN + timedelta(minutes=60), BEGAN + timedelta(minutes=150))
    open_ = _verdict("not judged", row="first-leg", since=BEGAN, gap=gap)
    taken = [(BEGAN + timedelta(minutes=minute), celsius, EARLY)]
    assert fills(_kitchen(), open_, taken) is settled


@pytest.mark.parametrize(("minute", "settled"), [(59, False), (60, True), (150, True), (151, False)])
def test_gap_of_what_is_kept_cold_is_settled_by_a_reading_in_it(minute: float, settled: bool) -> None:
    gap = (BEGAN + timedelta(minutes=60), BEGAN + timedelta(minutes=150))
    open_ = _verdict("not judged", limit="cold-holding", row="cold", since=BEGAN, gap=gap)
    assert fills(_kitchen(), open_, [(BEGAN + timedelta(minutes=minute), 3.0, EARLY)]) is settled


def test_gap_of_a_hold_is_settled_by_no_single_reading() -> None:
    gap = (BEGAN, BEGAN + timedelta(minutes=9))
    open_ = _verdict("not judged", limit="raw-egg", row="17-s", gap=gap)
    assert fills(_kitchen(), open_, [(BEGAN + timedelta(minutes=5), 75.0, EARLY)]) is False


def _limited(limit: str) -> Script:
    """The small kitchen whose chill has a limit."""
    kitchen = small_kitchen()
    recipes = tuple(
        r.model_copy(update={"steps": tuple(_with(s, limit) if s.id == "chill" else s for s in r.steps)})
        for r in kitchen.recipes
    )
    return with_base_chilling(in_a_planned_kitchen(limits=shipped_limits().limits, recipes=recipes))


def _with(step: Step, limit: str) -> Step:
    return step.model_copy(update={"limit": LimitUse(id=LimitId(limit))})


def test_critical_chill_shown_too_warm_by_hand_after_two_hours_holds_the_lot_once() -> None:
    script = _limited("two-leg-cooling")
    began = script.of("C1.chill").started_at
    assert began is not None
    assert script.give(
        began + timedelta(hours=1), "enter_temperature", task="C1.chill", celsius=40, sure=True, person=EARLY
    )
    late = script.give(
        began + timedelta(hours=2, minutes=10), "enter_temperature", task="C1.chill", celsius=25, person=EARLY
    )
    holds = [event for event in late if isinstance(event, LotHeld)]
    assert [(event.lot, "by hand, limit broken" in event.reason) for event in holds] == [("C1", True)]
    again = script.give(
        began + timedelta(hours=2, minutes=15), "enter_temperature", task="C1.chill", celsius=24, person=EARLY
    )
    assert [event for event in again if isinstance(event, LotHeld)] == []
    facts = next(iter(script.state.deviations.values())).facts
    assert (facts.cause, facts.limit, facts.person) == ("limit broken", "Cool cooked food in two legs", EARLY)
    assert facts.readings == ((began + timedelta(hours=2, minutes=10), 25.0),)


def test_reading_at_the_end_of_a_step_counts_and_one_before_its_start_does_not() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:55", "enter_temperature", task="C1.chill", celsius=55.0, person=EARLY)
    with_base_chilling(script)
    script.give("Wed 09:30", "enter_temperature", task="C1.chill", celsius=20.0, sure=True, person=EARLY)
    script.give("Wed 10:15", "finish_task", task="C1.chill", person="early-cook", measured={"temperature_c": 4.0})
    record = script.of("C1.chill")
    assert readings_of(record) == [(at("Wed 09:30"), 20.0, EARLY), (at("Wed 10:15"), 4.0, EARLY)]
    assert readings_of(replace(record, started_at=None)) == []


def test_reading_by_hand_taken_back_counts_no_more() -> None:
    script = _limited("two-leg-cooling")
    began = script.of("C1.chill").started_at
    assert began is not None
    when: datetime = began + timedelta(hours=2, minutes=10)
    script.give(began + timedelta(hours=1), "enter_temperature", task="C1.chill", celsius=40, sure=True, person=EARLY)
    script.give(when, "enter_temperature", task="C1.chill", celsius=25, person=EARLY)
    script.give(when, "undo", act=script.state.acts[-1].seq, person=EARLY)
    assert script.of("C1.chill").hand_by == {began + timedelta(hours=1): EARLY}
    assert not any(d.open for d in script.state.deviations.values())


def _ageing() -> Script:
    """The base ages in the fridge, whose stay has the ageing limit: 0 °C to 5 °C."""
    kitchen = small_kitchen()
    recipes = tuple(
        r.model_copy(
            update={
                "steps": tuple(
                    s.model_copy(update={"limit": LimitUse(id=LimitId("ageing"))}) if s.id == "age" else s
                    for s in r.steps
                )
            }
        )
        for r in kitchen.recipes
    )
    return with_base_aged(in_a_planned_kitchen(limits=shipped_limits().limits, recipes=recipes))


def test_stay_measured_too_warm_by_hand_is_an_alarm_and_is_told_on_its_view() -> None:
    script = _ageing()
    stay = TaskId("C1.age.B1")
    script.give("Wed 12:00", "enter_temperature", task=stay, celsius=9.0, person=EARLY)
    found = conditions(script.state, script.facts, script.now)
    missed = [facts for facts in found.values() if facts.kind is AlarmKind.TARGET_MISSED]
    assert [(facts.task, facts.reason, facts.priority) for facts in missed] == [(stay, "limit", Priority.CRITICAL)]
    said = task_view(script.state, script.facts, script.now, stay).limit_said
    assert said is not None
    assert (said.status, said.of, [hand.by for hand in said.by_hand]) == ("broken", "food", [EARLY])


def test_stay_measured_cold_by_hand_does_not_hide_what_the_air_says() -> None:
    script = _ageing()
    stay = TaskId("C1.age.B1")
    air = _verdict("broken", limit="ageing", of="air")
    script.reads("fridge-air", "fridge", celsius=9.0, measured_at=script.now, kept=(Kept(task=stay, verdict=air),))
    script.give("Wed 12:00", "enter_temperature", task=stay, celsius=3.0, person=EARLY)
    said = task_view(script.state, script.facts, script.now, stay).limit_said
    assert said is not None
    assert (said.status, said.of) == ("broken", "air")
