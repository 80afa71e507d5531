"""A pan's balance of heat against steam tables and closed forms, and what the recipe's minutes mean for hot food."""

import numpy as np
import pytest

from orchestrator.thermal.estimates import Estimator, Prior, choose
from orchestrator.thermal.estimates.heating import heating_bank, losses, vapour_hpa


@pytest.mark.parametrize(
    ("celsius", "hpa"),
    # Saturated steam, IAPWS-IF97 as printed in steam tables (from memory).
    [(20.0, 23.39), (40.0, 73.85), (60.0, 199.5), (80.0, 474.1), (90.0, 701.8), (100.0, 1014.2)],
)
def test_pressure_of_water_vapour_is_that_of_the_steam_tables(celsius: float, hpa: float) -> None:
    assert float(vapour_hpa(np.array(celsius))) == pytest.approx(hpa, rel=0.03)


def test_losses_are_none_at_the_rooms_warmth_and_rise_faster_than_a_straight_line() -> None:
    at = losses(np.array([22.0, 52.0, 82.0, 96.0]))
    assert at[2] == pytest.approx(1.0)
    assert abs(at[0]) < 0.02
    assert at[1] < 0.5  # half way by degrees
    assert at[3] > 1.4


def test_pan_that_loses_nothing_takes_a_minute_for_each_degree_of_its_clock() -> None:
    bank = heating_bank((0.0, 0.5))
    assert bank.at(82.0)[0][0] - bank.at(20.0)[0][0] == pytest.approx(62.0, abs=0.01)
    # Half of the heat is lost at 82 °C: there a degree lasts twice as long.
    assert bank.at(82.2)[0][1] - bank.at(81.8)[0][1] == pytest.approx(0.8, rel=0.02)


def _cook(first: float, rate: float) -> Estimator:
    estimator = choose("cook", falls=False, target=82.0, prior=Prior(30, 40, 50))
    for minute in range(9):
        estimator.fold(float(minute), first + rate * minute)
    return estimator


def test_food_that_is_put_on_hot_is_not_held_to_the_minutes_of_cold_food() -> None:
    """From 60 °C at 2 degrees a minute, in a recipe of 40 minutes: they may be meant from the fridge on."""
    arrival = _cook(60.0, 2.0).arrival(82.0)
    assert arrival is not None
    assert arrival.soonest_min <= 3.0 <= arrival.latest_min
