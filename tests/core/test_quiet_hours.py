"""Quiet hours on the clock of the kitchen, and when nobody is there."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from orchestrator.core.models import Shift
from orchestrator.core.models.calls import CallPlan, QuietHours
from orchestrator.core.presence import Night, empty_from, night_at
from tests.fakes.call_house import callee, kitchen_with
from tests.fakes.kitchens import at

NIGHT = ("22:00", "06:00")
LONDON = ZoneInfo("Europe/London")


def local(text: str, fold: int = 0) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON, fold=fold)


@pytest.mark.parametrize(
    ("hours", "when", "until"),
    [
        (NIGHT, "2026-11-25T21:59", None),
        (NIGHT, "2026-11-25T22:00", "2026-11-26T06:00"),
        (NIGHT, "2026-11-26T05:59", "2026-11-26T06:00"),
        (NIGHT, "2026-11-26T06:00", None),
        (("13:00", "15:00"), "2026-11-26T14:00", "2026-11-26T15:00"),
        (("13:00", "15:00"), "2026-11-26T15:00", None),
        # The nights in which London's clocks change, from the IANA time zone database: 29 March 2026 forward at 01:00,
        # 25 October back at 02:00.
        (NIGHT, "2026-03-28T23:00", "2026-03-29T06:00"),
        (NIGHT, "2026-10-24T23:00", "2026-10-25T06:00"),
    ],
)
def test_quiet_hours_end_on_the_clock_of_the_kitchen(hours: tuple[str, str], when: str, until: str | None) -> None:
    quiet = QuietHours(start=hours[0], end=hours[1])
    assert quiet.until(local(when)) == (None if until is None else local(until))


def test_quiet_hours_over_the_change_of_clocks_last_an_hour_less_and_more() -> None:
    quiet = QuietHours(start="22:00", end="06:00")
    for evening, hours in (("2026-03-28T22:00", 7), ("2026-10-24T22:00", 9)):
        begins = local(evening)
        end = quiet.until(begins)
        assert end is not None
        assert end.astimezone(UTC) - begins.astimezone(UTC) == timedelta(hours=hours)


def test_quiet_hours_that_end_in_the_hour_that_comes_twice_never_end_before_they_are_asked() -> None:
    quiet = QuietHours(start="22:00", end="01:30")
    for fold in (0, 1):
        asked = local("2026-10-25T01:10", fold)
        end = quiet.until(asked)
        assert end is not None
        assert end.astimezone(UTC) - asked.astimezone(UTC) == timedelta(minutes=20)


def test_quiet_hours_that_join_are_over_at_the_end_of_the_last() -> None:
    person = callee("manager", ("22:00", "02:00"), ("02:00", "05:00"), ("04:00", "06:00"))
    assert person.quiet_until(local("2026-11-25T23:00")) == local("2026-11-26T06:00")


def test_who_comes_later_and_leaves_sooner_does_not_empty_the_kitchen() -> None:
    kitchen = kitchen_with(CallPlan())
    long, short = (
        member.model_copy(update={"shifts": (Shift(start=at(f"Thu {start}"), end=at(f"Thu {end}")),)})
        for member, start, end in zip(kitchen.crew[:2], ("06:00", "08:00"), ("20:00", "12:00"), strict=True)
    )
    kitchen = kitchen.model_copy(update={"crew": (short, long)})
    assert empty_from(kitchen, at("Thu 11:00")) == at("Thu 20:00")


def test_night_is_the_time_without_anybody() -> None:
    kitchen = kitchen_with(CallPlan())
    assert night_at(kitchen, at("Thu 15:00")) == Night(at("Thu 21:00"), at("Fri 06:00"))
    assert night_at(kitchen, at("Thu 23:00")) == Night(at("Thu 21:00"), at("Fri 06:00"))
    assert night_at(kitchen, at("Sun 20:00")) == Night(at("Sun 21:00"), None)
    assert night_at(kitchen, at("Wed 05:00")) == Night(None, at("Wed 06:00"))
    assert empty_from(kitchen, at("Thu 12:45")) == at("Thu 21:00")  # a break is no absence
    assert empty_from(kitchen, at("Thu 23:00")) == at("Thu 23:00")
