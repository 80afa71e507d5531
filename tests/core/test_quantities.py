"""Units as people write them, checked against the pint library."""

import math
from datetime import UTC, datetime, timedelta
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from orchestrator.core.quantities import UNITS_REQUIRED, Celsius, Minutes, Quantity, Unit, minutes_between

MINUTES: TypeAdapter[int] = TypeAdapter(Minutes)
CELSIUS: TypeAdapter[float] = TypeAdapter(Celsius)
PINT = pint.UnitRegistry()
STRICT = {UNITS_REQUIRED: True}

UNITS = "L, ml, kg, g, each, trays, tray, cups, lb, oz, gal, qt, pt, cup, fl oz, tbsp, tsp"


def fault(adapter: Any, value: object) -> str:
    """What is said of a value in a kitchen's file."""
    with pytest.raises(ValidationError) as caught:
        (adapter.model_validate if isinstance(adapter, type) else adapter.validate_python)(value, context=STRICT)
    return str(caught.value.errors()[0]["msg"]).removeprefix("Value error, ")


@given(st.integers(0, 400), st.integers(0, 23), st.integers(0, 59))
def test_minutes_of_days_hours_and_minutes_agree_with_pint(days: int, hours: int, minutes: int) -> None:
    wanted = (days * PINT.day + hours * PINT.hour + minutes * PINT.minute).to("minute").magnitude
    assert MINUTES.validate_python(f"{days} d {hours} h {minutes} min") == round(wanted)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("45 min", 45), ("12 h", 720), ("1 h 30 min", 90), ("5 d", 7200), ("1.5 h", 90), ("0.1 h", 6), ("90min", 90)],
)
def test_minutes_written_in_any_way_are_whole(text: str, minutes: int) -> None:
    assert MINUTES.validate_python(text, context=STRICT) == minutes


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (45, "the unit is missing: write it, for example '45 min'"),
        ("45", "'45' is not a duration: write '45 min', '12 h', '1 h 30 min' or '5 d'"),
        ("45 mins", "'45 mins' is not a duration: write '45 min', '12 h', '1 h 30 min' or '5 d'"),
        ("-5 min", "'-5 min' is not a duration: write '45 min', '12 h', '1 h 30 min' or '5 d'"),
        ("0.3 min", "'0.3 min' is not a whole number of minutes: write whole minutes"),
        (True, "true is no number: write it like '45 min'"),
        ("9" * 400 + " min", f"'{'9' * 400} min' is not a duration: write '45 min', '12 h', '1 h 30 min' or '5 d'"),
    ],
)
def test_minutes_that_cannot_be_say_what_would_be_right(value: object, says: str) -> None:
    assert fault(MINUTES, value) == says


def test_minutes_in_our_own_json_need_no_unit() -> None:
    assert MINUTES.validate_python(45) == 45


@given(st.floats(-99, 999).map(lambda number: round(number, 2)))
def test_fahrenheit_agrees_with_pint(fahrenheit: float) -> None:
    wanted = PINT.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert math.isclose(CELSIUS.validate_python(f"{fahrenheit:.2f} °F"), wanted, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("text", "celsius"), [("4 °C", 4.0), ("-18 °C", -18.0), ("−18 C", -18.0), ("41 °F", 5.0), ("+82.5°C", 82.5)]
)
def test_celsius_written_in_any_way_is_understood(text: str, celsius: float) -> None:
    # 41 °F = 5 °C: both columns of FDA Food Code 2022, 3-501.16(A).
    assert CELSIUS.validate_python(text, context=STRICT) == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (4, "the unit is missing: write it, for example '4 °C'"),
        ("4", "'4' is not a temperature: write '82 °C' or '180 °F'"),
        ("4 K", "'4 K' is not a temperature: write '82 °C' or '180 °F'"),
        (False, "false is no number: write it like '4 °C'"),
    ],
)
def test_celsius_that_cannot_be_says_what_would_be_right(value: object, says: str) -> None:
    assert fault(CELSIUS, value) == says


@pytest.mark.parametrize(
    ("unit", "pint_unit", "kept"),
    [("L", "litre", "litre"), ("ml", "millilitre", "litre"), ("kg", "kilogram", "kilogram"), ("g", "gram", "kilogram")],
)
@given(number=st.floats(0, 9999).map(lambda number: round(number, 3)))
def test_quantity_in_any_unit_agrees_with_pint(unit: str, pint_unit: str, kept: str, number: float) -> None:
    wanted = PINT.Quantity(number, pint_unit).to(kept).magnitude
    assert math.isclose(Quantity.model_validate(f"{number:.3f} {unit}").value, wanted, rel_tol=1e-9, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (5, "the unit is missing: write it, for example '5 L' or '250 g'"),
        ("5", f"'5' is not an amount: write a number and one of {UNITS}"),
        ("5 l", f"'5 l' is not an amount: write a number and one of {UNITS}"),
        ("5 min", f"'5 min' is not an amount: write a number and one of {UNITS}"),
        ("-5 L", "'-5 L' is less than nothing: write it without the minus"),
        ({"value": 5, "unit": "L"}, "an amount is not a set of keys: write it like '5 L' or '250 g'"),
    ],
)
def test_quantity_that_cannot_be_says_what_would_be_right(value: object, says: str) -> None:
    assert fault(Quantity, value) == says


@given(st.floats(-1e6, 1e6), st.sampled_from(Unit))
def test_quantity_written_and_read_back_is_the_same(number: float, unit: Unit) -> None:
    quantity = Quantity(value=number, unit=unit)
    assert Quantity.model_validate_json(quantity.model_dump_json()) == quantity


@pytest.mark.parametrize(
    ("value", "text"), [(5.0, "5 L"), (0.1 + 0.2, "0.3 L"), (1e-12, "0 L"), (-1e-15, "0 L"), (0.00004, "0.00004 L")]
)
def test_quantity_is_written_without_exponent_or_noise(value: float, text: str) -> None:
    assert Quantity(value=value, unit=Unit.LITRE).model_dump() == text


def test_quantity_times_keeps_the_unit() -> None:
    assert Quantity.model_validate("250 ml").times(3) == Quantity.model_validate("0.75 L")


def test_minutes_between_are_whole_and_rounded_down() -> None:
    noon = datetime(2026, 11, 25, 12, tzinfo=UTC)
    assert minutes_between(noon, noon + timedelta(minutes=5, seconds=59)) == 5
    assert minutes_between(noon + timedelta(seconds=1), noon) == -1
