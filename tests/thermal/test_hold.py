"""Reaching and holding a temperature."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from orchestrator.thermal.hold import GAP_MIN, Hold


def _folded(hold: Hold, points: list[tuple[float, float]]) -> Hold:
    for minute, celsius in points:
        hold.fold(minute, celsius)
    return hold


# 21 CFR 1240.61(c): frozen dessert mix, 69 °C for 30 min; 80 °C for 25 s; 83 °C for 15 s.
@pytest.mark.parametrize(("celsius", "hold_s"), [(69, 1800), (80, 25), (83, 15)])
def test_hold_at_a_printed_row_is_met_and_a_second_or_a_tenth_short_is_not(celsius: float, hold_s: float) -> None:
    def run(level: float, seconds: float) -> float | None:
        ticks = [i * seconds / 10 for i in range(11)]
        fold = Hold(target_c=celsius, direction="at least", hold_min=hold_s / 60)
        return _folded(fold, [(t / 60, level) for t in ticks]).met_at

    assert run(celsius, hold_s) == pytest.approx(hold_s / 60)
    assert run(celsius, hold_s - 1) is None
    assert run(celsius - 0.1, hold_s) is None


def test_hold_counts_from_the_crossing_between_readings() -> None:
    hold = _folded(Hold(82, "at least", hold_min=1), [(0, 80), (1, 84), (2, 84)])
    assert (hold.reached_at, hold.met_at, hold.longest_min) == (0.5, 1.5, 1.5)


def test_hold_broken_by_a_dip_begins_anew() -> None:
    hold = _folded(Hold(82, "at least", hold_min=3), [(0, 82), (2, 82), (3, 80), (4, 82), (6, 82)])
    assert hold.met_at is None
    assert hold.longest_min == 2


def test_hold_is_not_counted_through_a_gap() -> None:
    hold = _folded(Hold(82, "at least", hold_min=6), [(0, 83), (GAP_MIN + 2, 83), (GAP_MIN + 3, 83)])
    assert hold.met_at is None
    assert hold.longest_min == 1


def test_hold_counts_through_five_minutes_without_a_reading_and_no_longer() -> None:
    """Five minutes: a choice of ours, stated in `hold`; readings come every minute or sooner."""
    hold = _folded(Hold(82, "at least", hold_min=5), [(0, 83), (5, 83)])
    assert hold.met_at == 5
    unsure = _folded(Hold(82, "at least", hold_min=5), [(0, 83), (5.1, 83)])
    assert (unsure.met_at, unsure.longest_min) == (None, 0)


def test_hold_downward_and_ceiling() -> None:
    cold = _folded(Hold(5, "at most"), [(0, 9), (2, 5)])
    assert (cold.reached_at, cold.met_at) == (2, 2)
    hot = _folded(Hold(82, "at least", ceiling_c=85), [(0, 84), (1, 85), (2, 85.1)])
    assert hot.ceiling_broken_at == 2


@given(st.lists(st.floats(70, 90), min_size=2, max_size=60))
@example([82.0, 79.99609375, 82.0])
def test_hold_fold_agrees_with_the_whole_curve_sampled_finely(levels: list[float]) -> None:
    hold = _folded(Hold(80, "at least"), [(float(i), c) for i, c in enumerate(levels)])
    best = run = 0.0
    for i in range(len(levels) - 1):
        if levels[i] < 80:
            run = 0.0  # a dip shorter than a sample falls between two of them
        for step in range(200):
            level = levels[i] + (levels[i + 1] - levels[i]) * (step + 0.5) / 200
            run = run + 1 / 200 if level >= 80 else 0.0
            best = max(best, run)
    assert hold.longest_min == pytest.approx(best, abs=0.02)
