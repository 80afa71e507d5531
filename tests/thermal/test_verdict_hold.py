"""Verdicts on heating, on curves written out: gaps, a ceiling, a deadline, more readings than are kept."""

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from orchestrator.thermal import verdict_hold
from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Verdict
from orchestrator.thermal.verdict_hold import HoldFold, HoldRow

GAP_S = 300.0


def _folded(fold: HoldFold, readings: list[tuple[float, float]]) -> Verdict:
    for second, degrees in readings:
        fold.fold(second, degrees)
    return fold.verdict(readings[-1][0])


def test_hold_that_may_have_been_in_a_gap_is_not_judged_and_tells_it() -> None:
    said = _folded(HoldFold((HoldRow("25-s", 80.0, 25.0),), GAP_S), [(0.0, 82.0), (400.0, 82.0)])
    assert (said.status, said.why, said.gap) == ("not judged", "gap", (0.0, 400.0))


def test_hold_of_more_readings_than_are_kept_is_met_as_soon_as_it_may_be_known() -> None:
    # One reading a second, of which 4096 are kept: from then on two neighbours are one, which starts at the earlier of
    # them and is as low as the lower. So the hold after the dip at 10 s starts at 12 s, not at 11 s.
    fold, met = HoldFold((HoldRow("70 min", 70.0, 4200.0),), GAP_S), None
    for second in range(4300):
        fold.fold(float(second), 69.0 if second == 10 else 70.5)
        if met is None and fold.verdict(float(second)).status == "met":
            met = second
    assert met == 4212
    assert fold.verdict(4300.0).margin_degrees == 0.5


def test_reading_above_the_ceiling_breaks_what_was_met() -> None:
    fold = HoldFold((HoldRow("25-s", 80.0, 25.0),), GAP_S, ceiling=85.0)
    said = _folded(fold, [(0.0, 82.0), (60.0, 82.0), (90.0, 85.1)])
    assert (said.status, said.why, said.readings) == ("broken", "ceiling", ((90.0, 85.1),))
    assert (said.at_s, said.margin_degrees) == (90.0, pytest.approx(-0.1))


def test_heat_that_comes_after_the_end_will_not_be_met_in_time() -> None:
    fold = HoldFold((HoldRow("25-s", 80.0, 25.0),), GAP_S)
    fold.fold(0.0, 60.0)
    assert fold.verdict(0.0, Arrival(10.0, 14.0), 600.0 + 25.0).status == "not yet"
    late = fold.verdict(0.0, Arrival(10.0, 14.0), 600.0 + 24.0)
    assert (late.status, late.margin_min) == ("will not be met in time", pytest.approx(-1 / 60))


def test_heat_that_was_not_held_by_the_end_is_broken_from_the_second_after_it_on() -> None:
    fold = HoldFold((HoldRow("25-s", 80.0, 25.0),), GAP_S)
    _folded(fold, [(0.0, 60.0), (280.0, 81.0), (300.0, 82.0)])
    assert fold.verdict(300.0, None, 300.0).status == "not yet"
    said = fold.verdict(301.0, None, 300.0)
    assert (said.status, said.row, said.at_s) == ("broken", "25-s", 300.0)
    assert said.margin_min == pytest.approx(-5 / 60)  # 20 s of 25 were seen


def test_rise_of_more_readings_than_are_kept_does_not_count_against_the_hold_after_it() -> None:
    # Rises for 5000 s, a reading a second, and passes 54.4 °C at 4500 s; holds from there for 6720 s, which is FDA Food
    # Code 2022, 3-401.11(B)(2): 112 min at 54.4 °C (from memory).
    fold = HoldFold((HoldRow("112 min", 54.4, 6720.0),), GAP_S)
    for second in range(4500 + 6720 + 3):
        degrees = 54.4 + 0.002 * (min(second, 5000) - 4500)
        fold.fold(float(second), degrees)
    said = fold.verdict(11222.0)
    assert said.status == "met"
    assert said.at_s == pytest.approx(4500 + 6720, abs=2)


@settings(deadline=None)
@given(
    curve=st.lists(st.tuples(st.integers(1, 60), st.integers(-2, 5)), min_size=1, max_size=60),
    hold_s=st.integers(1, 900),
    most=st.integers(2, 9),
)
@example(curve=[(3, 3), (10, -1), (2, 3), (5, -3), (2, -3), (1, 2), (1, 1), (4, 1), (2, 3)], hold_s=2, most=3)
def test_hold_of_more_readings_than_are_kept_is_never_told_better_than_it_was(
    curve: list[tuple[int, int]], hold_s: int, most: int
) -> None:
    row = (HoldRow("row", 70.0, float(hold_s)),)
    all_kept, few_kept = HoldFold(row, GAP_S), HoldFold(row, GAP_S)
    second, degrees = 0, 69.0
    with pytest.MonkeyPatch.context() as patch:
        for step, tenths in curve:
            second, degrees = second + step, degrees + tenths / 10
            patch.setattr(verdict_hold, "_MOST_KEPT", 4096)
            all_kept.fold(float(second), degrees)
            patch.setattr(verdict_hold, "_MOST_KEPT", most)
            few_kept.fold(float(second), degrees)
            whole, few = all_kept.verdict(float(second)), few_kept.verdict(float(second))
            assert whole.status == "met" or few.status != "met"
            if few.margin_degrees is not None:
                assert whole.margin_degrees is not None
                assert few.margin_degrees <= whole.margin_degrees
