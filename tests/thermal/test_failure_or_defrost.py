"""A short failure of a freezer's cold is no defrost: by simulated air of both, and rises drawn by hand.

What a defrost is like is common practice, no source: it comes by the clock, once a turn, is about as long each time and
over by itself.
"""

import pytest

from orchestrator.thermal.defrost import Clock, Defrosts
from orchestrator.thermal.verdict_keep import KeepBand, KeepFold
from tests.thermal.truth.failures import PLACES, passed

_COUNT = 120
"""Freezers; all: `python -m tests.thermal.truth.failures`."""


@pytest.mark.parametrize("clock", [False, True])
@pytest.mark.parametrize("place", ["in the middle between two", "an eighth of the period after one"])
def test_failure_out_of_turn_is_told_and_defrosts_are_not(place: str, clock: bool) -> None:
    found = passed(PLACES[place], _COUNT, 11, clock=clock)
    # A few lie in a gap between readings, or reach the grace by less than one of them.
    assert found.failures >= 12
    assert found.passed <= 0.25 * found.failures
    assert found.good >= 40
    assert found.blamed <= 0.05 * found.good


def _said(rises: list[tuple[int, int]], clock: Clock | None = None) -> str:
    """What is said of the air of two days with rises at these minutes, for so many minutes."""
    fold = KeepFold(KeepBand("frozen", high=-18.0), 1800.0, 30 * 60.0, Defrosts(-18.0, clock))
    for minute in range(rises[-1][0] + rises[-1][1] + 20):
        warm = any(start <= minute < start + long for start, long in rises)
        fold.fold(minute * 60.0, -12.0 if warm else -20.0)
    verdict = fold.verdict((rises[-1][0] + rises[-1][1] + 20) * 60.0)
    return verdict.why or verdict.status


_BY_CLOCK = [(60, 20), (420, 20), (780, 20)]


@pytest.mark.parametrize(
    ("last", "said"),
    [
        ((1140, 36), "defrost"),  # due, and no longer than half as long again and five minutes
        ((1140, 37), "broken"),  # due, and longer than that: it is not over by itself as the earlier ones were
        ((1120, 34), "defrost"),  # 20 minutes off
        ((1119, 34), "broken"),
        ((1161, 34), "broken"),
        ((810, 34), "broken"),  # half an hour after one: its turn is over
    ],
)
def test_learned_clock_allows_what_comes_in_its_turn_and_lasts_as_long(last: tuple[int, int], said: str) -> None:
    assert _said([*_BY_CLOCK, last]) == said


def test_second_rise_in_a_turn_is_no_defrost() -> None:
    assert _said([*_BY_CLOCK, (1130, 20), (1155, 34)]) == "broken"
    clock = Clock(360 * 60.0, 45 * 60.0)
    assert _said([*_BY_CLOCK, (1130, 20), (1155, 34)], clock) == "broken"


def test_food_that_was_frozen_beforehand_does_not_follow_a_defrost() -> None:
    defrosts = Defrosts(-18.0)
    for minute in range(1145):
        warm = any(start <= minute < start + long for start, long in [*_BY_CLOCK, (1140, 20)])
        defrosts.fold(minute * 60.0, -12.0 if warm else -20.0)
        defrosts.fold_food(max(-19.0, -8.0 - 0.01 * minute))
    assert defrosts.expected_now
    defrosts.fold_food(-18.0)  # a degree warmer than at its start, which may be
    assert defrosts.expected_now
    defrosts.fold_food(-17.9)
    assert not defrosts.expected_now


def test_timer_that_counts_the_hours_of_the_compressor_may_be_as_uneven_as_it_was() -> None:
    uneven = [(60, 20), (440, 20), (780, 20)]  # 380 and 340 minutes: 20 off even, so that 40 are allowed
    assert _said([*uneven, (1178, 34)]) == "defrost"
    assert _said([*uneven, (1182, 34)]) == "broken"
