"""Weights and volumes against the unit library pint."""

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.measures import VOLUMES, WEIGHTS, NoDensity, converted, in_us

UNITS = pint.UnitRegistry()
PINT = {
    "g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound", "ml": "milliliter", "L": "liter", "gal": "gallon",
    "qt": "quart", "pt": "pint", "cup": "cup", "fl oz": "fluid_ounce", "tbsp": "tablespoon", "tsp": "teaspoon",
}  # fmt: skip
"""Their names in pint, whose definitions follow NIST Handbook 44 (US customary)."""


@pytest.mark.parametrize("kind", [WEIGHTS, VOLUMES])
def test_every_unit_into_every_other_is_as_pint_has_it(kind: tuple[str, ...]) -> None:
    for unit in kind:
        for into in kind:
            expected = UNITS.Quantity(3.7, PINT[unit]).to(PINT[into]).magnitude
            assert converted(3.7, unit, into) == pytest.approx(expected, rel=1e-12), (unit, into)


@settings(deadline=None)
@given(st.floats(0.001, 1e5), st.sampled_from(WEIGHTS), st.sampled_from(VOLUMES), st.floats(0.1, 2.5, exclude_min=True))
def test_weight_into_volume_takes_the_density_and_back_gives_the_same(
    value: float, unit: str, into: str, density: float
) -> None:
    there = converted(value, unit, into, density)
    expected = UNITS.Quantity(value, PINT[unit]) / UNITS.Quantity(density, "gram/milliliter")
    assert there == pytest.approx(expected.to(PINT[into]).magnitude, rel=1e-9)
    assert converted(there, into, unit, density) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(("unit", "into"), [("kg", "L"), ("cup", "g")])
def test_weight_and_volume_without_a_density_are_refused(unit: str, into: str) -> None:
    with pytest.raises(NoDensity, match="without a density: weigh it"):
        converted(1.0, unit, into)


def test_unknown_unit_and_impossible_density_are_told() -> None:
    with pytest.raises(ValueError, match="'stone' is no unit"):
        converted(1.0, "stone", "kg")
    with pytest.raises(ValueError, match="is none"):
        converted(1.0, "kg", "L", 0.0)


def test_us_amounts_are_in_the_unit_that_a_kitchen_reaches_for() -> None:
    assert in_us(3.4, "L") == (pytest.approx(3.592, abs=0.001), "qt")
    assert in_us(540, "g") == (pytest.approx(1.190, abs=0.001), "lb")
    assert in_us(18, "g") == (pytest.approx(0.635, abs=0.001), "oz")
    assert in_us(500, "ml") == (pytest.approx(2.113, abs=0.001), "cup")
