"""Deadband and off-delay: one spell at a limit is one spell, and no spell is ever made shorter."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.thermal.settling import Settling


def spells(curve: list[float], *, deadband_c: float, off_delay_min: float, low: float | None = None) -> int:
    """How often a curve of one reading a minute, in a band up to 4 °C, goes out."""
    fold, count = Settling(4.0, low, deadband_c, off_delay_min), 0
    for minute, celsius in enumerate(curve):
        before = fold.out_since
        fold.fold(minute, celsius)
        count += before is None and fold.out_since is not None
    return count


def noisy(seed: int, mean: list[float], sd: float) -> list[float]:
    luck = random.Random(seed)
    return [m + luck.gauss(0.0, sd) for m in mean]


@pytest.mark.parametrize("seed", range(20))
def test_curve_that_rises_and_falls_through_the_limit_in_noise_is_one_spell_or_two(seed: int) -> None:
    # Up from 2 to 6 °C and down again within ten hours, with the noise of a kitchen probe (0.2 K, common practice).
    mean = [2 + 4 * m / 300 for m in range(300)] + [6 - 4 * m / 300 for m in range(300)]
    curve = noisy(seed, mean, 0.2)
    # A kelvin in 75 minutes is slow: of twenty such curves one went out twice, and each 12 to 23 times without.
    assert spells(curve, deadband_c=0.5, off_delay_min=3) <= 2
    assert spells(curve, deadband_c=0.0, off_delay_min=0) > 5


@pytest.mark.parametrize("seed", range(20))
def test_curve_that_lies_at_its_limit_for_ten_hours_is_one_spell(seed: int) -> None:
    curve = noisy(seed, [4.0] * 600, 0.2)
    assert spells(curve, deadband_c=0.5, off_delay_min=3) == 1
    assert spells(curve, deadband_c=0.0, off_delay_min=0) > 100


CURVES = st.lists(st.floats(-5, 12), max_size=80)


@settings(deadline=None)
@given(CURVES, st.floats(0, 5), st.floats(0, 20), st.sampled_from([None, 0.0, 3.0]))
def test_deadband_and_delay_never_hide_or_shorten_a_time_outside(
    curve: list[float], deadband_c: float, off_delay_min: float, low: float | None
) -> None:
    calm, plain = Settling(4.0, low, deadband_c, off_delay_min), Settling(4.0, low)
    for minute, celsius in enumerate(curve):
        calm.fold(minute, celsius)
        plain.fold(minute, celsius)
        if plain.out_since is not None:
            assert calm.out_since is not None
            assert calm.out_since <= plain.out_since


@given(CURVES)
def test_without_deadband_and_delay_it_is_out_when_the_reading_is(curve: list[float]) -> None:
    fold = Settling(4.0)
    for minute, celsius in enumerate(curve):
        fold.fold(minute, celsius)
        assert (fold.out_since is not None) is (celsius > 4.0)


@given(st.floats(0, 5), st.integers(0, 20))
def test_curve_that_goes_back_inside_for_good_settles(deadband_c: float, off_delay_min: int) -> None:
    fold = Settling(4.0, 0.0, deadband_c, off_delay_min)
    fold.fold(0, 9.0)
    for minute in range(1, off_delay_min + 1):
        fold.fold(minute, 2.0)  # the middle of the band: the deadband never leaves nowhere to return to
        assert fold.out_since == 0
    fold.fold(off_delay_min + 1, 2.0)
    assert fold.out_since is None
