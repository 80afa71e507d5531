"""Shifts that come again every week: written out, changed from a day on, and kept apart from days of their own.

What a clock shows when clocks change is the IANA time zone database's, by `tzdata`; the rest follows from the words of
the form. Common practice, marked so: nobody is in two shifts at once.
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from orchestrator.core import rota
from orchestrator.core.models.kitchen import WEEKDAYS, Shift, WeeklyShift
from tests.core.script import Script
from tests.core.test_days import EVERY_DAY, ZONE, fresh
from tests.fakes.kitchens import at, small_kitchen


def weekly(*days: str, start: str = "06:00", end: str = "14:00", breaks: tuple[str, ...] = ()) -> WeeklyShift:
    return WeeklyShift.model_validate({"days": days, "start": start, "end": end, "breaks": breaks})


def test_weekly_shifts_are_written_out_for_the_days_gained_and_no_day_twice() -> None:
    kitchen = small_kitchen()
    cook = kitchen.crew[0].model_copy(update={"shifts": (), "weekly": (weekly("mon", "wed"),)})
    zone = ZoneInfo(kitchen.time_zone)
    cook = rota.with_weekly(cook, zone, rota.first_day(kitchen))
    kitchen = kitchen.model_copy(update={"crew": (cook, *kitchen.crew[1:])})
    script = Script(kitchen=kitchen)
    script.give("Wed 06:00", "import_kitchen", kitchen=kitchen)
    for day in range(4, 60):
        script.try_(kitchen.planning_start + timedelta(days=day), "tick")
    told = script.state.kitchen
    assert told is not None
    shifts = told.crew[0].shifts
    days = [told.local(shift.start).date() for shift in shifts]
    assert days == sorted(set(days))
    assert {day.weekday() for day in days} == {0, 2}
    last = told.local(told.planning_start).date() + timedelta(days=28)
    expected = {d for n in range(-5, 29) if (d := last - timedelta(days=28) + timedelta(days=n)).weekday() in (0, 2)}
    assert set(days) >= expected


def test_weekly_shifts_keep_the_wall_clock_when_clocks_change() -> None:
    # Source: IANA time zone database, by `tzdata`: Europe/London goes forward on 29 March 2026, back on 25 October.
    zone = ZoneInfo("Europe/London")
    made = rota.written_out((weekly("sat", "sun", "mon"),), zone, date(2026, 3, 28), date(2026, 3, 30))
    assert [f"{shift.start:%d %H:%M}" for shift in made] == ["28 06:00", "29 05:00", "30 05:00"]
    night = rota.written_out((weekly("sat", start="22:00", end="06:00", breaks=("01:30-02:30",)),), zone,
                             date(2026, 10, 24), date(2026, 10, 24))  # fmt: skip
    assert (night[0].end - night[0].start) == timedelta(hours=9)
    assert f"{night[0].breaks[0].start:%d %H:%M}" == "25 00:30"


def test_breaks_keep_their_length_and_follow_on_each_other_on_the_night_the_clocks_go_forward() -> None:
    # Source: IANA time zone database, by `tzdata`: on 29 March 2026 in Europe/London 01:00 to 02:00 does not come.
    night = weekly("sat", start="22:00", end="06:00", breaks=("00:30-01:30", "02:00-02:30", "04:00-04:30"))
    (made,) = rota.written_out((night,), ZoneInfo("Europe/London"), date(2026, 3, 28), date(2026, 3, 28))
    told = [f"{rest.start:%H:%M}-{rest.end:%H:%M}" for rest in made.breaks]
    assert (f"{made.start:%H:%M}", f"{made.end:%H:%M}") == ("22:00", "05:00")
    assert told == ["00:30-01:30", "01:30-02:00", "03:00-03:30"]


def test_night_shift_that_runs_into_the_first_of_the_new_hours_is_one_shift_with_it() -> None:
    script = fresh()
    for since, one in (("2026-11-25", weekly("thu", start="22:00", end="06:00", breaks=("01:00-01:30",))),
                       ("2026-11-27", weekly("fri", start="05:00", end="11:00"))):  # fmt: skip
        told = {"change": "weekly shifts", "crew": "early-cook", "since": since}
        change = {**told, "shifts": [one.model_dump(mode="json")]}
        script.give("Wed 08:00", "change_kitchen", person="manager", changes=[change])
    assert script.state.kitchen is not None
    cook = next(m for m in script.state.kitchen.crew if m.id == "early-cook")
    seam = [shift for shift in cook.shifts if shift.start < at("Sat 00:00") and at("Thu 20:00") < shift.end]
    assert [(shift.start, shift.end, len(shift.breaks)) for shift in seam] == [(at("Thu 22:00"), at("Fri 11:00"), 1)]


@pytest.mark.parametrize(
    ("shifts", "status"),
    [
        ((weekly("mon", start="06:00", end="05:00"),), "the shift from 06:00 to 05:00 lasts 23 h"),
        ((weekly("mon", breaks=("15:00-15:30",)),), "a break of 15:00-15:30 lies outside the shift"),
        ((weekly("mon", breaks=("11:00-11:30", "10:00-10:30")),), "a break of 11:00-11:30, 10:00-10:30 lies outside"),
        ((weekly("mon", "tue"), weekly("tue", start="13:00", end="20:00")), "two shifts at once, Tue 06:00 to 14:00"),
        ((weekly("sun", start="22:00", end="06:30"), weekly("mon")), "two shifts at once, Sun 22:00 to 06:30"),
    ],
)
def test_weekly_shifts_that_cannot_be_are_refused_with_what_is_wrong(
    shifts: tuple[WeeklyShift, ...], status: str
) -> None:
    script = fresh()
    change = {"change": "weekly shifts", "crew": "early-cook", "since": "2026-11-27"}
    told = [{**change, "shifts": [one.model_dump(mode="json") for one in shifts]}]
    refusal = script.refused("Wed 08:00", "change_kitchen", person="manager", changes=told)
    assert refusal.status.startswith(status)


def test_weekly_shifts_from_a_day_on_take_the_place_of_all_after_it() -> None:
    script = fresh()
    shifts = [weekly("fri", "sat", start="05:00", end="11:00").model_dump(mode="json")]
    change = {"change": "weekly shifts", "crew": "early-cook", "since": "2026-11-27", "shifts": shifts}
    before = next(m for m in script.kitchen.crew if m.id == "early-cook").shifts
    script.give("Wed 08:00", "change_kitchen", person="manager", changes=[change])
    kitchen = script.state.kitchen
    assert kitchen is not None
    after = next(m for m in kitchen.crew if m.id == "early-cook")
    assert after.shifts[:2] == tuple(s for s in before if s.start < at("Fri 00:00"))
    spans = {f"{kitchen.local(s.start):%a %H:%M}-{kitchen.local(s.end):%H:%M}" for s in after.shifts[2:]}
    assert spans == {"Fri 05:00-11:00", "Sat 05:00-11:00"}
    assert len(after.shifts[2:]) == 8  # four Fridays and four Saturdays from 27 November to 23 December


def test_weekly_shifts_of_a_day_that_is_over_are_refused() -> None:
    change = {"change": "weekly shifts", "crew": "early-cook", "since": "2026-11-24", "shifts": []}
    refusal = fresh().refused("Wed 08:00", "change_kitchen", person="manager", changes=[change])
    assert refusal.status == "from Tue 24 Nov on, which is over"


def test_weekly_shifts_beyond_the_days_that_are_written_out_are_refused() -> None:
    change = {"change": "weekly shifts", "crew": "early-cook", "since": "2026-12-24", "shifts": []}
    refusal = fresh().refused("Wed 08:00", "change_kitchen", person="manager", changes=[change])
    assert (refusal.status, refusal.remedy) == (
        "from Thu 24 Dec on, which is too far ahead",
        "a day until Wed 23 Dec",
    )
    change["since"] = "2026-12-23"
    fresh().give("Wed 08:00", "change_kitchen", person="manager", changes=[change])


def every_day(*dated: Shift) -> Script:
    """The first of the crew is there every day, but on days with a shift of their own."""
    kitchen = small_kitchen()
    cook = kitchen.crew[0].model_copy(update={"shifts": dated, "weekly": (EVERY_DAY,)})
    cook = rota.with_weekly(cook, ZONE, rota.first_day(kitchen))
    kitchen = kitchen.model_copy(update={"crew": (cook, *kitchen.crew[1:])})
    script = Script(kitchen=kitchen)
    script.give("Wed 06:00", "import_kitchen", kitchen=kitchen)
    return script


def works(script: Script, days: int) -> dict[date, list[tuple[str, str]]]:
    """From when to when the first of the crew is there, by day, once so many days have gone on."""
    for day in range(4, days):
        script.try_(script.kitchen.planning_start + timedelta(days=day), "tick")
    told = script.state.kitchen
    assert told is not None
    found: dict[date, list[tuple[str, str]]] = {}
    for shift in told.crew[0].shifts:
        start, end = told.local(shift.start), told.local(shift.end)
        found.setdefault(start.date(), []).append((f"{start:%H:%M}", f"{end:%H:%M}"))
    return found


def test_day_with_a_shift_of_its_own_has_it_alone_however_far_ahead_it_was_written() -> None:
    feast = small_kitchen().planning_start.replace(hour=9) + timedelta(days=35)
    found = works(every_day(Shift(start=feast, end=feast + timedelta(hours=3))), 20)
    day = feast.astimezone(ZONE).date()
    assert found[day] == [("09:00", "12:00")]
    assert found[day + timedelta(days=1)] == [("05:00", "20:00")]


def test_day_is_that_of_the_kitchens_clock_wherever_the_computer_stands() -> None:
    zone = ZoneInfo("Pacific/Auckland")  # in November 13 h ahead of UTC (IANA time zone database)
    start = datetime(2026, 11, 30, 7, tzinfo=zone)  # Monday there, Sunday evening in UTC
    feast = Shift(start=start, end=start + timedelta(hours=3))
    cook = small_kitchen().crew[0].model_copy(update={"shifts": (feast,), "weekly": (weekly("sun", "mon"),)})
    made = rota.with_weekly(cook, zone, date(2026, 11, 29)).shifts[:3]
    assert [f"{shift.start.astimezone(zone):%a %d %H:%M}" for shift in made] == [
        "Sun 29 06:00",
        "Mon 30 07:00",
        "Sun 06 06:00",
    ]
    kitchen = small_kitchen(time_zone="Pacific/Auckland").model_copy(update={"crew": (cook,)})
    told = rota.from_day(cook.model_copy(update={"shifts": made}), (weekly("tue"),), kitchen, date(2026, 11, 30))
    assert f"{told.shifts[0].start.astimezone(zone):%a %d}" == "Sun 29"
    assert {f"{shift.start.astimezone(zone):%a}" for shift in told.shifts[1:]} == {"Tue"}


def test_absence_that_reaches_beyond_the_days_written_out_holds_on_the_days_that_come() -> None:
    script = every_day()
    start = at("Wed 00:00") + timedelta(days=26)
    away = {"change": "absent", "crew": script.kitchen.crew[0].id, "start": start, "end": start + timedelta(days=9.5)}
    script.give("Wed 08:00", "change_kitchen", person="manager", changes=[away])
    found = works(script, 20)
    first = start.astimezone(ZONE).date()
    assert not {first + timedelta(days=n) for n in range(9)} & found.keys()
    assert found[first - timedelta(days=1)] == [("05:00", "20:00")]
    assert found[first + timedelta(days=9)] == [("12:00", "20:00")]  # back at noon
    assert found[first + timedelta(days=10)] == [("05:00", "20:00")]
    assert script.state.kitchen is not None
    assert script.state.kitchen.crew[0].away != ()
    works(script, 45)
    assert script.state.kitchen.crew[0].away == ()


def test_absence_that_begins_after_the_last_shift_that_is_written_out_is_remembered() -> None:
    script = every_day()
    start = rota.known_until(script.kitchen) - timedelta(hours=1)
    away = {"change": "absent", "crew": script.kitchen.crew[0].id, "start": start, "end": start + timedelta(days=2)}
    refusal = script.refused("Wed 08:00", "change_kitchen", person="manager", changes=[away])
    assert refusal.status == "that time is not planned"
    away["start"] = script.kitchen.orders_until - timedelta(minutes=1)
    script.give("Wed 08:00", "change_kitchen", person="manager", changes=[away])
    day = start.astimezone(ZONE).date() + timedelta(days=1)
    found = works(script, 20)
    assert day not in found
    assert day + timedelta(days=2) in found


def test_new_hours_end_an_absence_that_was_to_go_on() -> None:
    script = every_day()
    start = at("Wed 00:00") + timedelta(days=20)
    who = script.kitchen.crew[0].id
    away = {"change": "absent", "crew": who, "start": start, "end": start + timedelta(days=20)}
    hours = {"change": "weekly shifts", "crew": who, "since": (start + timedelta(days=5)).date().isoformat(),
             "shifts": [weekly(*WEEKDAYS).model_dump(mode="json")]}  # fmt: skip
    script.give("Wed 08:00", "change_kitchen", person="manager", changes=[away, hours])
    found = works(script, 20)
    first = start.astimezone(ZONE).date()
    assert {n for n in range(20) if first + timedelta(days=n) not in found} == {0, 1, 2, 3, 4}
    assert found[first + timedelta(days=12)] == [("06:00", "14:00")]


def test_absence_beyond_the_planned_days_is_known_when_they_come() -> None:
    script = every_day()
    kitchen, cook = script.kitchen, script.kitchen.crew[0]
    start = kitchen.planned_until + timedelta(days=3, hours=-6)
    away = {"change": "absent", "crew": cook.id, "start": start, "end": start + timedelta(days=1)}
    script.give("Wed 08:00", "change_kitchen", person="manager", changes=[away])
    for day in range(4, 9):
        script.try_(kitchen.planning_start + timedelta(days=day), "tick")
    told = script.state.kitchen
    assert told is not None
    assert told.planned_until > start
    days = [told.local(shift.start).date() for shift in told.crew[0].shifts]
    gone = told.local(start).date()
    assert gone not in days
    assert {gone - timedelta(days=1), gone + timedelta(days=1)} <= set(days)
    far = kitchen.orders_until + timedelta(days=60)
    later = {"change": "absent", "crew": cook.id, "start": far, "end": far + timedelta(days=1)}
    refusal = script.refused(
        kitchen.planning_start + timedelta(days=8, hours=1), "change_kitchen", person="manager", changes=[later]
    )
    assert refusal.remedy == f"a time between now and {told.when(told.orders_until)}"
