"""Which part of the board is shown: addresses, days of 25 hours, and zooms that keep a place."""

from datetime import datetime, timedelta

import pytest

from display.board_range import Range, of_key, of_query
from tests.fakes.kitchens import at

LONDON = "Europe/London"
PLAN = (at("Wed 06:00"), at("Mon 06:00"))
NOW = at("Thu 09:42")


@pytest.mark.parametrize(
    "asked",
    [
        Range(),
        Range(by="crew"),
        Range("day"),
        Range("hour", datetime(2026, 11, 26, 9, 15), "order"),  # noqa: DTZ001
        Range("day", datetime(2026, 11, 26), "batch"),  # noqa: DTZ001
    ],
)
def test_range_comes_back_from_its_key_and_from_its_address(asked: Range) -> None:
    query = dict(part.split("=") for part in asked.address().partition("?")[2].split("&") if part)
    assert (of_key(asked.key()), of_query(query)) == (asked, asked)


@pytest.mark.parametrize(
    "told", [{"span": "week"}, {"by": "colour"}, {"from": "soon"}, {"day": "yesterday"}, {"from": "9999-12-31T23:00"}]
)
def test_address_that_cannot_be_read_asks_for_nothing(told: dict[str, str]) -> None:
    assert of_query(told) is None


def test_hour_that_follows_the_clock_begins_at_a_round_quarter_before_now() -> None:
    # A quarter of the hour before 09:42 is 09:27; the quarter hour before that is 09:15.
    assert Range("hour").instants(LONDON, NOW) == (at("Thu 09:15"), at("Thu 10:15"))


def test_day_over_the_end_of_summer_time_has_twenty_five_hours() -> None:
    # 25 October 2026: clocks in London go back at 01:00 UTC (tz database).
    begin, end = Range("day", datetime(2026, 10, 25)).instants(LONDON, NOW)  # noqa: DTZ001
    assert end - begin == timedelta(hours=25)


@pytest.mark.parametrize(("span", "step"), [("half", 60), ("hour", 15)])
def test_zoom_keeps_the_place_of_its_instant_to_a_step(span: str, step: int) -> None:
    seen = Range().axis(PLAN, LONDON, NOW)
    anchor = at("Fri 13:30")
    closer = Range().zoomed(span, seen, LONDON, anchor)  # type: ignore[arg-type]
    begin, end = closer.instants(LONDON, NOW)
    wanted = begin + (end - begin) * (seen.x(anchor) / 100)
    assert timedelta(0) <= anchor - wanted < timedelta(minutes=step)


def test_zoom_to_a_day_shows_it_from_midnight_to_midnight() -> None:
    closer = Range().zoomed("day", Range().axis(PLAN, LONDON, NOW), LONDON, at("Fri 13:30"))
    assert closer.instants(LONDON, NOW) == (at("Fri 00:00"), at("Sat 00:00"))


def test_later_moves_by_half_of_what_is_shown_and_days_by_days() -> None:
    half = Range("half", datetime(2026, 11, 26, 6))  # noqa: DTZ001
    assert half.moved(LONDON, NOW, 1).instants(LONDON, NOW)[0] == at("Thu 12:00")
    day = Range("day", datetime(2026, 11, 26))  # noqa: DTZ001
    assert day.moved(LONDON, NOW, -1).instants(LONDON, NOW) == (at("Wed 00:00"), at("Thu 00:00"))


def test_half_a_day_over_midnight_has_two_days_and_hours_on_both() -> None:
    axis = Range("half", datetime(2026, 11, 26, 18)).axis(PLAN, LONDON, NOW)  # noqa: DTZ001
    assert [(day.at, day.x) for day in axis.days] == [(at("Thu 18:00"), 0.0), (at("Fri 00:00"), 50.0)]
    assert [mark for _, mark in axis.hours] == [
        *(at("Thu 18:00") + timedelta(hours=n) for n in range(1, 6)),
        *(at("Fri 00:00") + timedelta(hours=n) for n in range(1, 6)),
    ]
