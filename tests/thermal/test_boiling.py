"""Boiling point by altitude, against two reference libraries and a table."""

import pytest
from CoolProp.CoolProp import PropsSI
from fluids.atmosphere import ATMOSPHERE_1976

from orchestrator.thermal.boiling import boiling_point_c, pressure_pa


@pytest.mark.parametrize(
    ("altitude_m", "boiling_c"),
    # Computed with IAPWS-IF97 at the pressures of the US Standard Atmosphere 1976.
    [(0, 99.97), (500, 98.31), (1000, 96.65), (1609.344, 94.62), (2000, 93.32), (3000, 89.98)],
)
def test_boiling_point_at_altitude_matches_the_table(altitude_m: float, boiling_c: float) -> None:
    assert boiling_point_c(altitude_m) == pytest.approx(boiling_c, abs=0.01)


@pytest.mark.parametrize("altitude_m", range(0, 4001, 250))
def test_boiling_point_agrees_with_coolprop_at_the_pressure_of_fluids(altitude_m: int) -> None:
    pressure = ATMOSPHERE_1976(altitude_m).P
    assert pressure_pa(altitude_m) == pytest.approx(pressure, rel=2e-4)
    assert boiling_point_c(altitude_m) == pytest.approx(PropsSI("T", "P", pressure, "Q", 0, "Water") - 273.15, abs=0.01)
