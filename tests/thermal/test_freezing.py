"""Freezing points, ice and Plank's formula, against published and computed values."""

import pytest

from orchestrator.thermal.freezing import sucrose_freezing_point_c
from orchestrator.thermal.hardening import Freezing, Shape, hardening_min, plank_s
from tests.thermal.plain_freezing import FreezingMix, freezing_point_c, frozen_water

MIX = FreezingMix(water=60, sucrose=12, milk_solids_not_fat=10, whey_solids=2, syrup_42de_solids=4)


@pytest.mark.parametrize(("percent", "celsius"), [(10, -0.622), (20, -1.459), (30, -2.623), (40, -4.319)])
def test_sucrose_freezes_where_norrish_and_iapws_say(percent: float, celsius: float) -> None:
    # Computed with Norrish + IAPWS; within 0.13 of the CRC Handbook's table.
    assert sucrose_freezing_point_c(percent) == pytest.approx(celsius, abs=0.005)


def test_mix_of_the_university_of_guelph_freezes_as_worked_out_there() -> None:
    # Goff (University of Guelph), method of Leighton 1927; the values were computed two ways.
    assert MIX.sucrose_equivalent_g_per_100g_water == pytest.approx(34.43, abs=0.01)
    assert MIX.salts_depression_c == pytest.approx(0.474, abs=0.0005)
    assert -2.59 <= freezing_point_c(MIX) <= -2.53


@pytest.mark.parametrize(("celsius", "low", "high"), [(-5, 0.457, 0.462), (-10, 0.700, 0.706), (-15, 0.790, 0.792)])
def test_water_frozen_in_the_mix(celsius: float, low: float, high: float) -> None:
    assert low - 0.0005 <= frozen_water(MIX, celsius) <= high + 0.0005  # computed two ways, same source


@pytest.mark.parametrize(
    ("food", "shape", "size_m", "medium_c", "transfer", "seconds"),
    [
        # Singh & Heldman, Introduction to Food Engineering, ex. 7.1; Earle, Unit Operations, ex. 6.6 (from memory).
        (Freezing(1000, 250e3, -1.25, 1.2), "sphere", 0.07, -40, 50, 2603),
        (Freezing(1090, 256e3, -2, 1.6), "slab", 0.10, -34, 54.55, 14806),
        (Freezing(1090, 256e3, -2, 1.6), "slab", 0.10, -34, 600, 7539),
    ],
)
def test_plank_gives_the_handbooks_seconds(
    food: Freezing, shape: Shape, size_m: float, medium_c: float, transfer: float, seconds: float
) -> None:
    found = plank_s(food, shape=shape, thickness_m=size_m, medium_c=medium_c, transfer_w_per_m2_k=transfer)
    assert found == pytest.approx(seconds, rel=1e-4)


def test_plank_refuses_a_medium_that_does_not_freeze() -> None:
    with pytest.raises(ValueError, match="does not freeze"):
        plank_s(Freezing(1000, 250e3, -1, 1.2), shape="slab", thickness_m=0.1, medium_c=0, transfer_w_per_m2_k=10)


def test_hardening_takes_longer_for_larger_tubs_fuller_freezers_and_more_water_left() -> None:
    usual = hardening_min(tub_m=0.1, air_c=-28, to_freeze=0.25)
    assert usual < hardening_min(tub_m=0.14, air_c=-28, to_freeze=0.25)
    assert usual < hardening_min(tub_m=0.1, air_c=-28, to_freeze=0.25, load_share=1.0)
    assert usual < hardening_min(tub_m=0.1, air_c=-28, to_freeze=0.4)
