"""How times, temperatures and amounts are written."""

from datetime import UTC, datetime, timedelta

import pytest

from display.formats import Formats
from display.words import Words
from orchestrator.core.quantities import Quantity

LONDON = Formats("Europe/London", "C", Words())
FAHRENHEIT = Formats("Europe/London", "F", Words())


def test_clock_is_the_kitchens_own_also_in_summer() -> None:
    assert LONDON.clock(datetime(2026, 11, 26, 9, 42, tzinfo=UTC)) == "09:42"
    assert LONDON.clock(datetime(2026, 7, 1, 9, 42, tzinfo=UTC)) == "10:42"


def test_clock_of_twelve_hours_says_noon_and_midnight() -> None:
    f = Formats("Europe/London", "C", Words(), twelve_hours=True)
    written = [f.clock(datetime(2026, 11, 26, hour, 5, tzinfo=UTC)) for hour in (0, 9, 12, 23)]
    assert written == ["12:05\u00a0am", "9:05\u00a0am", "12:05\u00a0pm", "11:05\u00a0pm"]


def test_when_names_the_day_only_if_it_is_another() -> None:
    now = datetime(2026, 11, 26, 9, 42, tzinfo=UTC)
    at = [datetime(2026, 11, 26, 17, 30, tzinfo=UTC), datetime(2026, 11, 27, 17, 30, tzinfo=UTC)]
    at.append(datetime(2026, 12, 24, 17, 30, tzinfo=UTC))
    assert [LONDON.when(x, now) for x in at] == ["17:30", "Fri 17:30", "Thu 24 Dec 17:30"]


def test_when_names_the_date_wherever_a_weekday_could_be_next_weeks_or_last_weeks() -> None:
    now = datetime(2026, 11, 26, 9, 42, tzinfo=UTC)  # a Thursday
    written = [LONDON.when(now + timedelta(days=days), now) for days in range(-7, 8)]
    assert written[6:12] == ["Wed 09:42", "09:42", "Fri 09:42", "Sat 09:42", "Sun 09:42", "Mon 09:42"]
    assert written[12] == "Tue 09:42"
    assert written[13:] == ["Wed 2 Dec 09:42", "Thu 3 Dec 09:42"]
    assert written[:6] == [f"{day} Nov 09:42" for day in ("Thu 19", "Fri 20", "Sat 21", "Sun 22", "Mon 23", "Tue 24")]
    weekdays = [text.split()[0] for text in written if "Nov" not in text and "Dec" not in text and " " in text]
    assert len(weekdays) == len(set(weekdays))


@pytest.mark.parametrize(
    ("minutes", "written"),
    [(0, "0 min"), (59.9, "59 min"), (60, "1 h"), (198, "3 h 18"), (2879, "47 h 59"), (2880, "2 d"), (3000, "2 d 2 h")],
)
def test_length_is_written_as_the_trade_says_it(minutes: float, written: str) -> None:
    assert LONDON.length(minutes).replace("\u00a0", " ") == written


def test_temperature_always_has_its_unit_and_a_true_minus() -> None:
    assert LONDON.temperature(-18.24) == "\u221218.2\u00a0°C"
    assert FAHRENHEIT.temperature(-40.0) == "\u221240.0\u00a0°F"  # the same in both scales
    assert FAHRENHEIT.limit(82.0) == "179.6\u00a0°F"
    assert LONDON.temperature(-0.04) == "0.0\u00a0°C"
    assert LONDON.temperature(None) == "No reading"


def test_celsius_undoes_the_kitchens_unit() -> None:
    assert FAHRENHEIT.celsius(212.0) == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("quantity", "written"),
    [
        ("9 g", "9 g"), ("1.25 kg", "1.25 kg"), ("250 ml", "250 ml"), ("5.2 L", "5.2 L"), ("36 each", "36"),
        ("1 tray", "1 tray"), ("6 trays", "6 trays"), ("2.5 g", "2.5 g"),
    ],
)  # fmt: skip
def test_amount_is_written_in_the_unit_that_is_weighed(quantity: str, written: str) -> None:
    assert LONDON.amount(Quantity.model_validate(quantity)).replace("\u00a0", " ") == written


def test_when_short_leaves_the_time_out_a_week_away() -> None:
    now = datetime(2026, 11, 26, 9, 42, tzinfo=UTC)
    written = [LONDON.when_short(datetime(2026, *day, 17, 30, tzinfo=UTC), now) for day in ((11, 28), (12, 24))]
    assert written == ["Sat 17:30", "24 Dec"]


SPANISH = Formats("Europe/Madrid", "C", Words("es"))
US = Formats("America/Chicago", "F", Words(), us=True)


def test_spanish_has_a_decimal_comma_and_its_own_halves_of_the_day() -> None:
    """Source: Ortografía de la lengua española 2010 (from memory): a comma before decimals."""
    day = datetime(2026, 11, 28, 9, 42, tzinfo=UTC)
    assert SPANISH.temperature(-18.24) == "\u221218,2\u00a0°C"
    assert SPANISH.amount(Quantity.model_validate("1.25 kg")) == "1,25\u00a0kg"
    assert SPANISH.clock(day) == "10:42"
    assert Formats("Europe/Madrid", "C", Words("es"), twelve_hours=True).clock(day) == "10:42\u00a0a.\u00a0m."


@pytest.mark.parametrize(
    ("quantity", "written"), [("1 kg", "2.2 lb"), ("100 g", "3.53 oz"), ("5 L", "1.32 gal"), ("36 each", "36")]
)
def test_amounts_in_us_measures_stay_weights_and_volumes(quantity: str, written: str) -> None:
    """Source: the pound of 0.453 592 37 kg and the US gallon of 231 cubic inches (core/measures)."""
    assert US.amount(Quantity.model_validate(quantity)).replace("\u00a0", " ") == written


def test_what_a_store_holds_is_told_in_the_unit_of_its_capacity() -> None:
    filled, capacity = US.span(Quantity.model_validate("24 L"), 12.0)
    assert (filled, capacity.replace("\u00a0", " ")) == ("3.2", "6.3 gal")


@pytest.mark.parametrize(
    ("utc", "clock"),
    [((2026, 3, 29, 0, 30), "00:30"), ((2026, 3, 29, 1, 30), "02:30"), ((2026, 10, 25, 0, 30), "01:30"),
     ((2026, 10, 25, 1, 30), "01:30")],
)  # fmt: skip
def test_clock_jumps_where_summer_time_begins_and_ends(utc: tuple[int, int, int, int, int], clock: str) -> None:
    """Source: EU summer time 2026, from 29 March to 25 October, 01:00 UTC (Directive 2000/84/EC)."""
    assert LONDON.clock(datetime(*utc, tzinfo=UTC)) == clock
