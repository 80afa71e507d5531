"""What people type for an amount, against the unit library pint."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import NoAmount, typed_amount, typed_quantity
from tests.core.test_measures import PINT, UNITS


def told(*parts: tuple[float, str], unit: str) -> float:
    """A sum of parts by pint, whose definitions follow NIST Handbook 44."""
    total = sum((UNITS.Quantity(value, name) for value, name in parts[1:]), UNITS.Quantity(*parts[0]))
    return float(total.to(unit).magnitude)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("2 lb 4 oz", [(2, "pound"), (4, "ounce")]),
        ("2lb4oz", [(2, "pound"), (4, "ounce")]),
        ("2 lbs. 4 oz.", [(2, "pound"), (4, "ounce")]),
        ("1 1/2 lb", [(1.5, "pound")]),
        ("2½ pounds", [(2.5, "pound")]),
        ("3/4 oz", [(0.75, "ounce")]),
        ("850 g", [(850, "gram")]),
        ("1,5 kg", [(1.5, "kilogram")]),
        ("2 libras 4 onzas", [(2, "pound"), (4, "ounce")]),
    ],
)
def test_weights_are_as_pint_has_them(text: str, parts: list[tuple[float, str]]) -> None:
    assert typed_amount(text, Unit.KILOGRAM) == pytest.approx(told(*parts, unit="kilogram"), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("1 1/2 cups", [(1.5, "cup")]),
        ("3 fl oz", [(3, "fluid_ounce")]),
        ("3 fl. oz.", [(3, "fluid_ounce")]),
        ("3 onzas líquidas", [(3, "fluid_ounce")]),
        ("1 gal 2 qt 1 pt", [(1, "gallon"), (2, "quart"), (1, "pint")]),
        ("2 Tbsp 1 tsp", [(2, "tablespoon"), (1, "teaspoon")]),
        ("½ taza", [(0.5, "cup")]),
        ("750 ml", [(750, "milliliter")]),
    ],
)
def test_volumes_are_as_pint_has_them(text: str, parts: list[tuple[float, str]]) -> None:
    assert typed_amount(text, Unit.LITRE) == pytest.approx(told(*parts, unit="liter"), rel=1e-7)


@given(st.floats(0.01, 999), st.sampled_from(sorted(PINT)))
def test_every_measure_is_read_as_pint_converts_it(value: float, measure: str) -> None:
    unit = Unit.KILOGRAM if UNITS.Unit(PINT[measure]).is_compatible_with("gram") else Unit.LITRE
    into = {Unit.KILOGRAM: "kilogram", Unit.LITRE: "liter"}[unit]
    text = f"{value:.4f} {measure}"
    expected = told((round(value, 4), PINT[measure]), unit=into)
    assert typed_amount(text, unit) == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert Quantity.model_validate(text) == typed_quantity(text, unit)  # as files and programs write it


def test_bare_number_is_in_the_unit_of_its_field() -> None:
    assert typed_amount("2.4", Unit.KILOGRAM) == 2.4
    assert typed_amount("2.4", Unit.KILOGRAM, us=True) == pytest.approx(told((2.4, "pound"), unit="kilogram"), rel=1e-8)
    assert typed_amount("2", Unit.LITRE, us=True) == pytest.approx(told((2, "quart"), unit="liter"), rel=1e-8)
    assert typed_amount("12", Unit.EACH, us=True) == 12
    assert typed_amount("6 bandejas", Unit.TRAY) == 6


def test_cups_of_what_is_weighed_count_with_its_density_only() -> None:
    # A cup of a honey of 1.42 g/mL: 236.588 mL of it, by pint's cup.
    weight = told((1, "cup"), unit="milliliter") * 1.42 / 1000
    assert typed_amount("1 cup", Unit.KILOGRAM, density_g_per_ml=1.42) == pytest.approx(weight, rel=1e-7)
    with pytest.raises(NoAmount) as wrong:
        typed_amount("1 cup", Unit.KILOGRAM)
    assert wrong.value.why == "density"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "number"), ("lots", "number"), ("-2", "number"), ("2 lb 4", "number"), ("1/0 lb", "number"),
        ("2 stone", "unit"), ("2 trays", "unit"), ("1e5", "unit"),
    ],
)  # fmt: skip
def test_what_is_no_amount_says_why(text: str, why: str) -> None:
    with pytest.raises(NoAmount) as wrong:
        typed_amount(text, Unit.KILOGRAM)
    assert wrong.value.why == why


def test_pieces_take_no_weight() -> None:
    with pytest.raises(NoAmount) as wrong:
        typed_amount("2 lb", Unit.EACH)
    assert wrong.value.why == "unit"


def test_units_of_pint_are_those_meant() -> None:
    assert pint.Quantity(1, "cup").to("fluid_ounce").magnitude == pytest.approx(8)
