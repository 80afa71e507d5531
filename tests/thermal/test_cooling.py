"""Two-leg cooling, against FDA Food Code 2022 3-501.14(A) and Newton's law."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.thermal.cooling import TwoLegCooling, Verdict
from orchestrator.thermal.trend import Arrival


def _verdict(points: list[tuple[float, float]], now: float, arrival: Arrival | None = None) -> Verdict:
    fold = TwoLegCooling(began=0)
    for minute, celsius in points:
        fold.fold(minute, celsius)
    return fold.verdict(now, arrival)


@pytest.mark.parametrize(
    ("points", "now", "verdict"),
    [
        ([(0, 57), (120, 21), (360, 5)], 360, "met"),
        ([(0, 57), (121, 21)], 121, "first leg missed"),
        ([(0, 57), (120, 21.1)], 120.5, "first leg missed"),
        ([(0, 57), (120, 21), (361, 5)], 361, "second leg missed"),
        ([(0, 57), (120, 21), (360, 5.1)], 360.5, "second leg missed"),
        ([(0, 57), (120, 21.1)], 120, "on course"),
        ([(0, 60), (10, 58)], 10, ""),
    ],
)
def test_cooling_at_the_code_and_just_beyond(points: list[tuple[float, float]], now: float, verdict: str) -> None:
    assert _verdict(points, now) == verdict


def test_cooling_of_food_first_seen_below_57_counts_from_the_step() -> None:
    assert _verdict([(30, 50), (125, 22)], 125) == "first leg missed"


def test_cooling_clock_starts_where_the_line_passes_57() -> None:
    fold = TwoLegCooling(began=0)
    fold.fold(0, 77)
    fold.fold(10, 37)
    assert fold.started == pytest.approx(5)


def test_cooling_that_will_arrive_after_the_limit_warns_before_it() -> None:
    assert _verdict([(0, 57), (60, 45)], 60, Arrival(90, 200)) == "will be late"
    assert _verdict([(0, 57), (60, 45)], 60, Arrival(50, 200)) == "on course"


def test_cooling_said_to_be_late_is_taken_back_when_the_likely_arrival_is_in_time_not_when_the_soonest_is() -> None:
    fold = TwoLegCooling(began=0)
    for minute, celsius in ((0, 57), (60, 45)):
        fold.fold(minute, celsius)
    breathing = Arrival(50, 80)  # from minute 60; the first leg ends at 120: the middle is five minutes too late
    assert fold.verdict(60, breathing) == "on course"
    assert fold.verdict(60, breathing, late_before=True) == "will be late"
    assert fold.verdict(60, None, late_before=True) == "will be late"
    assert fold.verdict(60, Arrival(40, 70), late_before=True) == "on course"
    assert fold.verdict(121, None, late_before=True) == "first leg missed"


@given(st.floats(-18, 4.5).filter(lambda c: abs(c - 3) > 0.05))
def test_cooling_by_newton_is_bound_by_the_first_leg_below_3_degrees_and_by_the_second_above(ambient: float) -> None:
    # Identity computed from 3-501.14: both legs ask the same rate exactly at 3 °C ambient; ln(3/2) = 0.5493 an hour.
    first = math.log((57 - ambient) / (21 - ambient)) / 2
    total = math.log((57 - ambient) / (5 - ambient)) / 6
    rate = (first + total) / 2
    points = [(m, ambient + (57 - ambient) * math.exp(-rate * m / 60)) for m in range(0, 361)]
    assert _verdict(points, 361) == ("first leg missed" if ambient < 3 else "second leg missed")


def test_cooling_identity_at_3_degrees() -> None:
    assert math.log(54 / 18) / 2 == pytest.approx(math.log(54 / 2) / 6)
    assert math.log(54 / 18) / 2 == pytest.approx(0.5493, abs=5e-5)


def test_cooling_reaches_for_its_legs_in_turn_and_forgets_what_cannot_be_believed() -> None:
    fold = TwoLegCooling(began=0)
    said = []
    for minute, celsius in ((0, 60), (10, 57), (100, 21), (200, 5)):
        fold.fold(minute, celsius)
        said.append((fold.waits, fold.next_target_c()))
    assert said == [(False, 21), (True, 21), (True, 5), (False, 5)]
    fold.forget_since(201)
    assert not fold.waits
    fold.forget_since(200)
    assert (fold.waits, fold.next_target_c()) == (True, 5)
    fold.forget_since(100)
    assert (fold.waits, fold.next_target_c()) == (True, 21)
