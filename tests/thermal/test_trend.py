"""Slope and arrival, against curves whose truth is known in closed form."""

import math
import random

import pytest

from orchestrator.thermal.trend import Line, Trend, fit_line


def _folded(curve: list[tuple[float, float]]) -> Trend:
    trend = Trend()
    for minute, celsius in curve:
        trend.fold(minute, celsius)
    return trend


def test_line_needs_three_readings_of_more_than_one_instant() -> None:
    assert fit_line([(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)]) == Line(3.0, 2.0, 0.0, 1.0)
    assert fit_line([(0.0, 1.0), (1.0, 3.0)]) is None
    assert fit_line([(1.0, 1.0), (1.0, 3.0), (1.0, 5.0)]) is None


def test_slope_of_a_straight_line_is_exact() -> None:
    trend = _folded([(i * 0.5, 20 + 1.6 * i * 0.5) for i in range(20)])
    assert trend.slope_c_per_min() == pytest.approx(1.6)


def test_arrival_on_a_straight_line_is_exact() -> None:
    arrival = _folded([(float(i), 60.0 + 2 * i) for i in range(9)]).arrival(82)
    assert arrival is not None
    assert (arrival.soonest_min, arrival.latest_min) == (pytest.approx(3), pytest.approx(3))


def test_arrival_of_newton_cooling_lies_in_the_interval() -> None:
    # Textbook exercise: 95 to 61 °C in 30 min in a room of 20 °C; k = 0.0201305 a minute.
    k = 0.0201305
    trend = _folded([(float(m), 20 + 75 * math.exp(-k * m)) for m in range(0, 13)])
    arrival = trend.arrival(61)
    assert arrival is not None
    assert arrival.soonest_min <= 30 - 12 <= arrival.latest_min
    assert arrival.latest_min - arrival.soonest_min < 6


def test_arrival_is_not_claimed_when_the_curve_levels_off_before_the_target() -> None:
    trend = _folded([(float(m), 20 + 75 * math.exp(-0.3 * m)) for m in range(0, 13)])
    assert trend.arrival(4) is None


@pytest.mark.parametrize("target", [10.0, 30.0])
def test_arrival_is_not_claimed_from_noise(target: float) -> None:
    rng = random.Random(4)
    assert _folded([(float(m), 20 + rng.gauss(0, 0.2)) for m in range(40)]).arrival(target) is None


def test_arrival_is_not_claimed_away_from_the_target() -> None:
    assert _folded([(float(i), 60.0 - i) for i in range(10)]).arrival(82) is None


def test_trend_keeps_a_bounded_tail() -> None:
    trend = _folded([(i / 60, 20.0) for i in range(10_000)])
    assert len(trend._points) <= 48


def test_arrival_is_named_from_the_fourth_reading_of_a_pan_that_has_just_begun_to_heat() -> None:
    curve = [(0.0, 20.0), (1.0, 20.1), (2.0, 31.0), (3.0, 42.5), (4.0, 54.0), (5.0, 65.5)]
    arrival = _folded(curve).arrival(82)
    assert arrival is not None
    assert arrival.soonest_min == pytest.approx((82 - 65.5) / 11.5)
    assert _folded(curve[:3]).arrival(82) is None
