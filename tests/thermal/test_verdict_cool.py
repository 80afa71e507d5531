"""Verdicts on cooling in legs: against Newton's law of cooling, at the last second, through gaps, heated again."""

from math import exp, log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Verdict
from orchestrator.thermal.verdict_cool import CoolFold, Leg
from tests.thermal.folding import folded

TWO_LEGS = (Leg("first", 21.0, 7200.0), Leg("second", 5.0, 21600.0))
"""FDA Food Code 2022, 3-501.14(A), from 57 °C."""
GAP_S = 300.0


@settings(deadline=None)
@given(hours=st.floats(0.3, 5.9), ambient=st.floats(-20.0, 4.5))
def test_two_legs_bind_as_newton_says(hours: float, ambient: float) -> None:
    # Under Newton cooling both legs need the same rate exactly at 3 °C: 54/18 = 3 in 2 h, 54/2 = 27 in 6 h,
    # ln(3)/2 = ln(27)/6 = 0.5493 /h. Colder: the first leg binds; warmer: the second. Source: FDA Food Code 2022,
    # 3-501.14(A), computed.
    first = log((57 - ambient) / (21 - ambient)) / 2
    second = log((57 - ambient) / (5 - ambient)) / 6
    assert (first > second) == (ambient < 3) or abs(ambient - 3) < 1e-9
    rate = log((57 - ambient) / (5 - ambient)) / hours
    slack = min(rate / first, rate / second)
    if abs(slack - 1) < 0.01:
        return  # the line between two readings is not Newton's curve
    curve = [(60.0 * m, ambient + (57 - ambient) * exp(-rate * m / 60)) for m in range(0, 60 * 13)]
    said = folded(CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0), curve)
    assert said.status == ("met" if slack > 1 else "broken")


def test_both_legs_need_one_rate_at_three_degrees() -> None:
    rates = [log((57 - 3) / (21 - 3)) / 2, log((57 - 3) / (5 - 3)) / 6]
    assert rates == [pytest.approx(log(3) / 2), pytest.approx(log(3) / 2)]
    assert rates[0] == pytest.approx(0.5493, abs=5e-5)


def test_leg_is_met_at_its_last_second_and_not_one_later() -> None:
    def said(second: float) -> Verdict:
        fold = CoolFold(TWO_LEGS, 86400.0, 0.0, 57.0)
        return folded(fold, [(0.0, 57.0), (second - 60.0, 21.1), (second, 21.0), (21600.0, 5.0)])

    assert said(7200.0).status == "met"
    late = said(7201.0)
    assert (late.status, late.row, late.at_s) == ("broken", "first", 7200.0)


def test_each_leg_says_when_it_was_reached_as_newton_says_and_by_when_it_had_to_be() -> None:
    # Newton's law of cooling solved for time: t = ln((57 - a) / (T - a)) / k. Source of the legs: FDA Food Code 2022,
    # 3-501.14(A). With a = -5 °C and k = 0.6 /h: 21 °C after 1.449 h, 5 °C after 3.041 h, computed.
    curve = [(10.0 * i, -5.0 + 62.0 * exp(-0.6 * i / 360)) for i in range(360 * 4)]
    said = folded(CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0), curve)
    assert said.status == "met"
    assert [(leg.degrees, leg.by_s) for leg in said.legs] == [(21.0, 7200.0), (5.0, 21600.0)]
    wanted = [log(62 / 26) / 0.6 * 3600, log(62 / 10) / 0.6 * 3600]
    assert [leg.at_s for leg in said.legs] == pytest.approx(wanted, abs=1.0)


def test_leg_reached_too_late_is_told_with_the_one_that_was_in_time() -> None:
    readings = [(600.0 * i, 57.0 - 0.6 * i * 10) for i in range(4)] + [(7000.0, 21.0), (21000.0, 9.0), (23000.0, 5.0)]
    said = folded(CoolFold(TWO_LEGS, 86400.0, 0.0, 57.0), readings)
    assert (said.status, said.row) == ("broken", "second")
    assert [(leg.at_s, leg.by_s) for leg in said.legs] == [(7000.0, 7200.0), (23000.0, 21600.0)]


def test_leg_that_may_have_been_reached_in_a_gap_is_not_judged() -> None:
    fold = CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0)
    said = folded(fold, [(0.0, 57.0), (240.0, 50.0), (7600.0, 20.0)])
    assert (said.status, said.why, said.gap) == ("not judged", "gap", (240.0, 7600.0))
    assert said.legs == ()


def test_food_that_was_warm_at_the_last_second_was_late_however_long_nobody_looked_then() -> None:
    fold = CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0)
    said = folded(fold, [(0.0, 57.0), (6960.0, 31.0), (7200.0, 30.0), (7600.0, 20.0)])
    assert (said.status, said.row, said.at_s) == ("broken", "first", 7200.0)
    assert [(leg.degrees, leg.at_s) for leg in said.legs] == [(21.0, 7600.0)]
    sooner = CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0)
    assert folded(sooner, [(0.0, 57.0), (7199.0, 30.0), (7600.0, 20.0)]).status == "not judged"


def test_cold_food_in_a_gap_and_warm_after_it_is_broken() -> None:
    fold = CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0)
    said = folded(fold, [(0.0, 57.0), (240.0, 50.0), (7600.0, 30.0)])
    assert (said.status, said.readings) == ("broken", ((240.0, 50.0), (7600.0, 30.0)))


@pytest.mark.parametrize(("late", "status"), [(0.0, "met"), (1.0, "broken")])
def test_food_heated_again_is_cooled_from_there_on(late: float, status: str) -> None:
    # From 70 °C at 3,660 s to 50 °C at 3,720 s it passes 57 °C at 3,699 s, which both legs count from.
    start = 3699.0
    fold = CoolFold(TWO_LEGS, 86400.0, 0.0, 57.0)
    cooled = [(start + 7140.0, 21.1), (start + 7200.0 + late, 21.0), (start + 21600.0, 5.0)]
    said = folded(fold, [(0.0, 60.0), (60.0, 50.0), (3600.0, 20.0), (3660.0, 70.0), (3720.0, 50.0), *cooled])
    assert (said.status, said.row, said.since_s) == (status, "first", start)
    assert said.margin_min == pytest.approx(-late / 60)


def test_cooling_broken_before_it_was_heated_again_stays_broken() -> None:
    fold = CoolFold(TWO_LEGS, 86400.0, 0.0, 57.0)
    said = folded(fold, [(0.0, 57.0), (7260.0, 30.0), (7320.0, 70.0), (7380.0, 50.0), (7440.0, 5.0)])
    assert (said.status, said.row, said.at_s) == ("broken", "first", 7200.0)


def test_cooling_that_is_expected_too_late_says_so() -> None:
    fold = CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0)
    fold.fold(0.0, 57.0)
    fold.fold(60.0, 56.0)
    assert fold.verdict(60.0, Arrival(119.0, 130.0)).status == "not yet"
    late = fold.verdict(60.0, Arrival(119.5, 130.0))
    assert (late.status, late.row, late.margin_min) == ("will not be met in time", "first", pytest.approx(-0.5))
