"""Whose turn it is to be called: lived through by simulated time, and against rules written down apart."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.call_events import CallMade
from orchestrator.core.calls import GATHER, due_calls, next_call_at
from orchestrator.core.models.alarm import AlarmStatus
from orchestrator.core.models.calls import Callee, CallPlan, CallWhy
from tests.fakes.call_house import CallHouse, call_plan, callee, kitchen_with, replayed
from tests.fakes.kitchens import at

NIGHT = ("22:00", "06:00")
THREE = call_plan(callee("manager"), callee("Owner"), callee("early-cook"))


def house(plan: CallPlan = THREE, when: str = "Thu 02:00") -> CallHouse:
    return CallHouse(kitchen_with(plan), at(when))


def told(house: CallHouse) -> list[tuple[str, str]]:
    return [(f"{when:%H:%M}", str(to)) for when, to, _ in house.calls()]


def test_at_night_people_are_called_in_order_and_then_again() -> None:
    kitchen = house()
    kitchen.raised("freezer")
    kitchen.live(at("Thu 03:05"))
    assert told(kitchen) == [
        ("02:00", "manager"),
        ("02:10", "role:Owner"),
        ("02:20", "early-cook"),
        ("02:50", "manager"),  # half an hour after the last
        ("03:00", "role:Owner"),
    ]
    assert [one.about[0].why for one in kitchen.made()] == ["first", "next", "next", "again", "next"]


def test_while_somebody_is_there_they_have_five_minutes_to_see_it() -> None:
    kitchen = house(when="Thu 10:00")
    kitchen.raised("freezer")
    kitchen.live(at("Thu 10:12"))
    assert told(kitchen) == [("10:05", "manager")]


def test_alarm_raised_before_the_last_cook_leaves_calls_as_they_leave() -> None:
    kitchen = house(when="Thu 20:58")
    kitchen.raised("freezer")
    kitchen.live(at("Thu 21:05"))
    assert told(kitchen) == [("21:00", "manager")]


@pytest.mark.parametrize("ending", ["seen", "over"])
def test_seen_or_over_it_calls_nobody_any_more(ending: str) -> None:
    kitchen = house()
    kitchen.raised("freezer")
    kitchen.live(at("Thu 02:09"))
    getattr(kitchen, ending)("freezer")
    kitchen.live(at("Thu 12:00"))
    assert told(kitchen) == [("02:00", "manager")]


def test_who_cannot_be_reached_is_not_waited_for() -> None:
    kitchen = house()
    kitchen.outcome = lambda made: "gave_up" if made.to == "manager" else "delivered"
    kitchen.takes = timedelta(minutes=3)
    kitchen.raised("freezer")
    kitchen.live(at("Thu 02:20"))
    assert told(kitchen) == [("02:00", "manager"), ("02:03", "role:Owner"), ("02:13", "early-cook")]


def test_call_whose_end_nobody_hears_of_does_not_stop_the_next() -> None:
    kitchen = house()
    kitchen.outcome = lambda made: "nothing"
    kitchen.raised("freezer")
    kitchen.live(at("Thu 02:12"))
    assert told(kitchen) == [("02:00", "manager"), ("02:10", "role:Owner")]


def test_quiet_hours_hold_back_warnings_and_tell_them_together_at_their_end() -> None:
    kitchen = house(call_plan(callee("manager", NIGHT), callee("Owner", ("21:00", "07:00"))))
    kitchen.raised("fridge", "warning")
    kitchen.live(at("Thu 03:00"))
    kitchen.raised("freezer", "warning")
    kitchen.live(at("Thu 04:00"))
    kitchen.raised("probe", "warning")
    kitchen.live(at("Thu 05:00"))
    kitchen.over("probe")
    kitchen.live(at("Thu 06:05"))
    assert kitchen.calls() == [(at("Thu 06:00"), "manager", ("fridge", "freezer"))]
    assert {about.why for about in kitchen.made()[0].about} == {CallWhy.HELD_BACK}


def test_critical_alarm_comes_through_quiet_hours() -> None:
    kitchen = house(call_plan(callee("manager", NIGHT)))
    kitchen.raised("fridge", "warning")
    kitchen.raised("freezer", "critical")
    kitchen.live(at("Thu 02:20"))
    assert kitchen.calls() == [(at("Thu 02:00"), "manager", ("freezer",))]


def test_who_was_passed_over_is_told_at_the_end_of_their_quiet_hours_if_it_still_stands() -> None:
    kitchen = house(call_plan(callee("manager", NIGHT), callee("Owner"), again_after=300))
    kitchen.raised("fridge", "warning")
    kitchen.live(at("Thu 06:01"))
    assert told(kitchen) == [("02:00", "role:Owner"), ("06:00", "manager")]


def test_who_is_told_late_is_told_once_and_the_turn_goes_on_without_them() -> None:
    kitchen = house(call_plan(callee("manager", NIGHT), callee("Owner"), callee("early-cook")), "Thu 05:55")
    kitchen.raised("fridge", "warning")
    kitchen.live(at("Thu 06:34"))
    assert told(kitchen) == [("05:55", "role:Owner"), ("06:00", "manager"), ("06:05", "early-cook")]
    assert [one.about[0].why for one in kitchen.made()] == ["first", "held_back", "next"]


def test_while_all_who_are_left_have_quiet_hours_it_begins_again_with_who_has_none() -> None:
    kitchen = house(call_plan(callee("manager"), callee("Owner", NIGHT)))
    kitchen.raised("fridge", "warning")
    kitchen.live(at("Thu 03:10"))
    assert told(kitchen) == [("02:00", "manager"), ("02:30", "manager"), ("03:00", "manager")]
    kitchen.live(at("Thu 06:00"))
    assert told(kitchen)[-1] == ("06:00", "role:Owner")


def test_warning_that_becomes_critical_calls_from_the_first_person_on_anew() -> None:
    kitchen = house()
    kitchen.raised("fridge", "warning")
    kitchen.live(at("Thu 02:05"))
    kitchen.worse("fridge", "critical")
    kitchen.live(at("Thu 02:16"))
    assert told(kitchen) == [("02:00", "manager"), ("02:05", "manager"), ("02:15", "role:Owner")]


def test_warning_that_becomes_critical_calls_at_once_whoever_it_was_held_back_from() -> None:
    kitchen = house(call_plan(callee("manager", NIGHT), callee("Owner", NIGHT)))
    kitchen.raised("fridge", "warning")
    kitchen.live(at("Thu 03:00"))
    kitchen.worse("fridge", "critical")
    kitchen.live(at("Thu 03:11"))
    assert told(kitchen) == [("03:00", "manager"), ("03:10", "role:Owner")]


def test_one_more_order_touched_calls_nobody_anew() -> None:
    kitchen = house()
    kitchen.raised("freezer")
    kitchen.live(at("Thu 02:05"))
    kitchen.worse("freezer", orders=("SAT-STALL",))
    kitchen.live(at("Thu 02:09"))
    assert told(kitchen) == [("02:00", "manager")]


def test_alarm_that_wavers_goes_on_where_it_was() -> None:
    kitchen = house()
    for minute in range(0, 30, 3):
        kitchen.raised("freezer")
        kitchen.live(at("Thu 02:00") + timedelta(minutes=minute + 2))
        kitchen.over("freezer")
        kitchen.live(at("Thu 02:00") + timedelta(minutes=minute + 3))
    assert [to for _, to, _ in kitchen.calls()] == ["manager", "role:Owner", "early-cook"]


def test_several_alarms_at_once_are_one_call_and_what_comes_right_after_is_another_only_later() -> None:
    kitchen = house()
    kitchen.raised("freezer")
    kitchen.raised("fridge")
    kitchen.live(at("Thu 02:00") + timedelta(seconds=30))
    kitchen.raised("churn")
    kitchen.live(at("Thu 02:05"))
    assert kitchen.calls() == [
        (at("Thu 02:00"), "manager", ("freezer", "fridge")),
        (at("Thu 02:02"), "manager", ("churn",)),
    ]


def test_shelved_alarm_calls_nobody_and_back_from_the_shelf_it_calls_from_the_first_on() -> None:
    kitchen = house()
    kitchen.raised("freezer")
    kitchen.live(at("Thu 02:05"))
    kitchen.shelved("freezer", at("Thu 04:00"))
    kitchen.live(at("Thu 04:00"))
    assert told(kitchen) == [("02:00", "manager")]
    kitchen.unshelved("freezer")
    kitchen.live(at("Thu 04:11"))
    assert told(kitchen) == [("02:00", "manager"), ("04:00", "manager"), ("04:10", "role:Owner")]


def test_notice_calls_nobody_unless_the_plan_says_so() -> None:
    kitchen = house()
    kitchen.raised("machine", "notice")
    assert next_call_at(kitchen.state, kitchen.now) is None
    assert due_calls(kitchen.state, kitchen.now) == ()


def test_nobody_on_the_list_calls_nobody() -> None:
    kitchen = house(CallPlan())
    kitchen.raised("freezer")
    assert due_calls(kitchen.state, kitchen.now) == ()


# -- properties, by simulated time

CLOCKS = st.integers(0, 23).map(lambda hour: f"{hour:02d}:00")
QUIET = st.lists(st.tuples(CLOCKS, CLOCKS).filter(lambda pair: pair[0] != pair[1]), max_size=2)
NAMES = ("manager", "Owner", "early-cook", "late-cook")
ALARMS = ("fridge", "freezer", "churn")


def leaves_an_hour(quiet: list[tuple[str, str]]) -> bool:
    """Whether somebody can be called at any hour at all; the reader of files sees to it."""
    person = callee("manager", *quiet)
    return not all(quiet_at(person, at("Wed 00:00") + timedelta(hours=hour)) for hour in range(24))


@st.composite
def plans(draw: st.DrawFn) -> CallPlan:
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True))
    people = [callee(name, *draw(QUIET.filter(leaves_an_hour))) for name in names]
    times = {key: draw(st.integers(low, 90)) for key, low in (("first_after", 0), ("next_after", 3))}
    return call_plan(*people, **times, again_after=draw(st.integers(5, 180)))


ACTS = st.lists(
    st.tuples(
        st.integers(0, 240),
        st.sampled_from(["raised", "raised", "warning", "worse", "seen", "over"]),
        st.sampled_from(ALARMS),
    ),
    max_size=14,
)
OUTCOMES = st.lists(st.sampled_from(["delivered", "delivered", "gave_up", "nothing"]), min_size=1, max_size=6)


def act(house: CallHouse, what: str, alarm: str) -> None:
    """Do it if it can happen to that alarm as it stands."""
    known = house.state.alarms.get(alarm)  # type: ignore[call-overload]
    stands = known is not None and known.status is not AlarmStatus.RETURNED_UNACKNOWLEDGED
    if what in {"raised", "warning"} and not stands:
        house.raised(alarm, "critical" if what == "raised" else "warning")
    elif what == "worse" and stands:
        house.worse(alarm, "critical", missed=True)
    elif what == "seen" and known is not None and known.status is not AlarmStatus.ACKNOWLEDGED:
        house.seen(alarm)
    elif what == "over" and stands:
        house.over(alarm)


def quiet_at(person: Callee, instant: datetime) -> bool:
    """Written apart from the code under test: minutes of the day on London's clock."""
    local = instant.astimezone(ZoneInfo("Europe/London"))
    minute = local.hour * 60 + local.minute
    for hours in person.quiet:
        start, end = (int(text[:2]) * 60 + int(text[3:]) for text in (hours.start, hours.end))
        inside = start <= minute < end if start < end else minute >= start or minute < end
        if inside:
            return True
    return False


def check_call(house: CallHouse, made: CallMade) -> None:
    """What must hold of every call at the moment it is made."""
    plan = house.kitchen.calls
    person = plan.callee(made.to)
    assert person is not None
    for about in made.about:
        alarm = house.state.alarms[about.alarm]
        assert alarm.status is AlarmStatus.UNACKNOWLEDGED
        if alarm.facts.priority != "critical":
            assert not quiet_at(person, made.at)
    assert len({about.alarm for about in made.about}) == len(made.about)


@settings(max_examples=300, deadline=None)
@given(plans(), st.integers(0, 47), ACTS, OUTCOMES)
def test_lived_through_every_rule_of_calling_holds(
    plan: CallPlan, hour: int, acts: list[tuple[int, str, str]], outcomes: list[str]
) -> None:
    kitchen = CallHouse(kitchen_with(plan), at("Wed 06:00") + timedelta(hours=hour))

    def outcome(made: CallMade) -> str:
        check_call(kitchen, made)
        return outcomes[len(kitchen.made()) % len(outcomes)]

    kitchen.outcome = outcome  # type: ignore[assignment]
    for minutes, what, alarm in acts:
        before = kitchen.now
        kitchen.live(before + timedelta(minutes=minutes))
        act(kitchen, what, alarm)
        kitchen.settle()
        # Nothing is due before it is said to be, and then something is.
        due = next_call_at(kitchen.state, kitchen.now)
        if due is not None:
            assert due_calls(kitchen.state, kitchen.now + (due - kitchen.now) / 2) == ()
            assert due_calls(kitchen.state, due) != () or any(end[0] <= due for end in kitchen.ends)
    kitchen.live(kitchen.now + timedelta(hours=30))

    # A restart knows the same, and repeats nothing.
    again = replayed(kitchen.kitchen, kitchen.log)
    assert again.calls == kitchen.state.calls
    assert due_calls(again, kitchen.now) == ()

    # Nobody is called twice within the time that gathers.
    last: dict[str, datetime] = {}
    for when, to, _ in kitchen.calls():
        assert to not in last or when - last[to] >= GATHER
        last[to] = when

    # What stands unseen has called somebody within a day and the longest interval: nothing is forgotten.
    for alarm in kitchen.state.alarms.values():
        if alarm.status is AlarmStatus.UNACKNOWLEDGED:
            assert any(alarm.id in about for _, _, about in kitchen.calls())


@settings(max_examples=200, deadline=None)
@given(st.integers(1, 4), st.integers(3, 60), st.integers(5, 120), st.integers(1, 400))
def test_one_alarm_with_everybody_reached_keeps_the_stated_intervals(
    people: int, next_after: int, again_after: int, seen_after: int
) -> None:
    plan = call_plan(*(callee(name) for name in NAMES[:people]), next_after=next_after, again_after=again_after)
    kitchen = CallHouse(kitchen_with(plan), at("Wed 22:00"))
    kitchen.raised("freezer")
    kitchen.live(at("Wed 22:00") + timedelta(minutes=seen_after))
    kitchen.seen("freezer")
    kitchen.live(at("Thu 22:00"))

    expected, minute, number = [], 0, 0
    while minute <= seen_after:  # by plain arithmetic
        expected.append((minute, plan.people[number].id))
        last = number == people - 1
        minute, number = minute + (again_after if last else next_after), 0 if last else number + 1
    if expected[-1][0] == seen_after:  # seen in the very minute: that call was made before
        assert kitchen.calls()[-1][0] == at("Wed 22:00") + timedelta(minutes=seen_after)
    found = [((when - at("Wed 22:00")).total_seconds() / 60, to) for when, to, _ in kitchen.calls()]
    assert found == expected
