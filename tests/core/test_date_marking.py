"""Date marking and time since cleaning, at the published examples and one step beyond."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.core.date_marking import days_used, judge_days, judge_elapsed, last_day
from orchestrator.core.models.limit import Limit
from orchestrator.kitchen.shipped import shipped_limits

LONDON = ZoneInfo("Europe/London")


def _limit(name: str) -> Limit:
    return next(one for one in shipped_limits().limits if one.id == name)


def _april(day: int, hour: int = 12) -> datetime:
    return datetime(2026, 4, day, hour, tzinfo=LONDON)


@pytest.mark.parametrize(
    ("now", "status"), [(_april(1, 10), "met"), (_april(7, 23), "met"), (_april(8, 0), "broken"), (_april(9), "broken")]
)
def test_food_made_on_the_first_of_april_is_discarded_by_the_seventh(now: datetime, status: str) -> None:
    # FDA Food Code 2022, 3-501.17: 7 days, the day it was made being day 1: made 1 April, discarded by 7 April.
    said = judge_days(_limit("date-marking"), _april(1, 9), (), now, LONDON)
    assert (said.status, said.applied) == (status, "FDA Food Code 2022, 3-501.17, 2022")
    assert last_day(_april(1, 9), (), 7, now, LONDON) == date(2026, 4, 7)


def test_freezing_stops_the_count_and_does_not_begin_it_anew() -> None:
    # Frozen on the evening of day 3, taken out on the 20th: that is day 4, and the 23rd is day 7.
    frozen = ((_april(3, 20), _april(20, 8)),)
    assert [days_used(_april(1, 9), frozen, _april(d), LONDON) for d in (1, 3, 10, 20, 23)] == [1, 3, 3, 4, 7]
    assert last_day(_april(1, 9), frozen, 7, _april(20), LONDON) == date(2026, 4, 23)
    in_time, late = (judge_days(_limit("date-marking"), _april(1, 9), frozen, _april(d), LONDON) for d in (23, 24))
    assert (in_time.status, late.status) == ("met", "broken")


def test_day_counts_unless_it_was_frozen_from_midnight_to_midnight() -> None:
    second = timedelta(seconds=1)
    whole = (_april(4, 0), _april(5, 0))
    assert days_used(_april(1, 9), (whole,), _april(5), LONDON) == 4
    assert days_used(_april(1, 9), ((whole[0] + second, whole[1]),), _april(5), LONDON) == 5
    assert days_used(_april(1, 9), ((whole[0], whole[1] - second),), _april(5), LONDON) == 5


def test_what_is_left_of_the_days_is_told_in_minutes() -> None:
    # Made 1 April: to the midnight after the 7th.
    said = judge_days(_limit("date-marking"), _april(1, 9), (), _april(7), LONDON)
    assert (said.at, said.since, said.margin_min) == (_april(8, 0), _april(1, 9), 12 * 60)


def test_food_still_frozen_waits_and_has_no_last_day() -> None:
    frozen = ((_april(3, 20), None),)
    said = judge_days(_limit("date-marking"), _april(1, 9), frozen, _april(29), LONDON)
    assert (said.status, said.at) == ("met", None)


def test_food_over_its_days_before_it_was_frozen_stays_so() -> None:
    said = judge_days(_limit("date-marking"), _april(1, 9), ((_april(9), None),), _april(29), LONDON)
    assert said.status == "broken"


def test_days_are_the_kitchens_own_through_a_change_of_the_clock() -> None:
    # Clocks went forward in London on 29 March 2026; half past midnight there is still the day before in UTC.
    made = datetime(2026, 3, 28, 23, 30, tzinfo=UTC)
    assert last_day(made, (), 7, made, LONDON) == date(2026, 4, 3)
    after = datetime(2026, 3, 29, 23, 30, tzinfo=UTC)  # 00:30 on the 30th in London
    assert days_used(made, (), after, LONDON) == 3


@given(whole=st.integers(0, 40), before=st.integers(1, 7))
def test_last_day_moves_by_the_days_wholly_frozen(whole: int, before: int) -> None:
    made = datetime(2026, 4, 1, 9, tzinfo=UTC)
    since = datetime(2026, 4, before, 20, tzinfo=UTC)
    until = datetime(2026, 4, before, 8, tzinfo=UTC) + timedelta(days=whole + 1)
    frozen = ((since, until),)
    # Where the last of its days is the one on which it was frozen, nothing is left after it.
    gained = 0 if before == 7 else whole
    assert last_day(made, frozen, 7, until, UTC) == date(2026, 4, 7) + timedelta(days=gained)


@pytest.mark.parametrize(("seconds", "status"), [(0, "met"), (4 * 3600, "met"), (4 * 3600 + 1, "broken")])
def test_surfaces_are_cleaned_again_within_four_hours(seconds: int, status: str) -> None:
    # FDA Food Code 2022, 4-602.11(C).
    said = judge_elapsed(_limit("cleaning-interval"), _april(1), _april(1) + timedelta(seconds=seconds))
    assert (said.status, said.at, said.since) == (status, _april(1, 16), _april(1))
    assert said.margin_min == pytest.approx(4 * 60 - seconds / 60)


def test_cleaning_that_is_not_on_record_is_not_judged() -> None:
    said = judge_elapsed(_limit("cleaning-interval"), None, _april(1))
    assert (said.status, said.why) == ("not judged", "nothing on record")


def test_limit_of_another_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="cleaning-interval is no limit of days"):
        judge_days(_limit("cleaning-interval"), _april(1), (), _april(1), LONDON)
    with pytest.raises(ValueError, match="date-marking is no limit of time"):
        judge_elapsed(_limit("date-marking"), None, _april(1))
