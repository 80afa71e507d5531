"""Time to a target, against simulated truth that shares no formula, and published exercises."""

import math
from dataclasses import replace

import pytest

from orchestrator.thermal.estimates import Estimator, Prior, choose
from tests.thermal.truth import KINDS, Curve, curves
from tests.thermal.truth.score import followed, score

_COUNT = 150
"""Of the 1,000 of each kind, for the suite; all: `python -m tests.thermal.truth`."""


@pytest.mark.parametrize("kind", KINDS)
def test_interval_covers_the_truth_as_often_as_claimed_on_curves_not_fitted_to(kind: str) -> None:
    found = score(curves(kind, _COUNT, 7, other=True))
    # Three standard errors of a share of 90 % below it: a fair coin of that kind falls lower once in 700.
    assert found.coverage >= 0.9 - 3 * math.sqrt(0.9 * 0.1 / found.said)
    assert found.said + found.none == _COUNT
    assert found.said >= 0.6 * _COUNT
    # A pan on a hob heats nearly in a straight line, and what the cook will do nobody knows: half of the line's error
    # is not reached there. One who knew pan, power and losses exactly would be left with a third of it
    # (`python -m tests.thermal.truth`, "hob, all known").
    assert found.ratio <= (0.9 if kind == "hob" else 0.5)


def test_newton_cooling_of_the_exercise_lies_in_the_interval() -> None:
    # Textbook exercise: 95 to 61 °C in 30 min in a room of 20 °C; k = 0.0201305 a minute. Here the room is a fridge of
    # 2 °C and the target 5 °C: ln(93/3) / k = 170.6 min.
    k = 0.0201305
    estimator = choose("chill", falls=True, target=5, place="fridge", prior=Prior(100, 160, 260))
    for minute in range(0, 121, 2):
        estimator.fold(minute, 2 + 93 * math.exp(-k * minute))
    arrival = estimator.arrival(5)
    assert arrival is not None
    assert arrival.soonest_min <= math.log(93 / 3) / k - 120 <= arrival.latest_min


def test_estimate_is_none_with_its_reason() -> None:
    estimator = choose("cook", falls=False, target=82)
    assert estimator.arrival(82) is None
    assert estimator.why_none == "too few readings"
    for minute in range(30):
        estimator.fold(minute, 60.0 - minute)
    assert estimator.arrival(82) is None
    assert estimator.why_none != "too few readings"


@pytest.mark.parametrize("kind", KINDS)
def test_readings_added_together_are_those_added_one_by_one(kind: str) -> None:
    for number, curve in enumerate(curves(kind, 12, 41)):
        seldom, often = (_estimator(curve) for _ in range(2))
        for minute, value in zip(curve.minutes.tolist(), curve.values.tolist(), strict=True):
            seldom.fold(minute, value)
            often.fold(minute, value)
            often.arrival(curve.target)
            if round(minute * 7.0) % 11 == number % 11:
                seldom.arrival(curve.target)
        one, other = seldom.reckoned(curve.target), often.reckoned(curve.target)
        assert (one is None) == (other is None)
        if one is not None and other is not None:
            assert one == pytest.approx(other, rel=1e-6, abs=1e-6)


def _estimator(curve: Curve) -> Estimator:
    """As `score.followed` chooses it, before any reading."""
    estimator = followed(replace(curve, minutes=curve.minutes[:0], values=curve.values[:0]))
    assert isinstance(estimator, Estimator)
    return estimator
