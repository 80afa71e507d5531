"""A reading costs the same after an hour and after days: counted in calls and in what is kept, never in time."""

import sys
from datetime import timedelta
from types import FrameType
from typing import Any

import pytest

from orchestrator.core.limit_folds import fold_of
from orchestrator.core.models.limit import OF_FOOD, ON_CURVES, Limit
from orchestrator.engine.limit_watch import LimitWatch
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from orchestrator.thermal.estimates import Prior, choose
from tests.fakes.kitchens import at

LIMITS = [limit for limit in shipped_limits().limits if limit.kind in ON_CURVES]
BEGUN = at("Wed 07:00")


def _kept(thing: Any, seen: set[int]) -> int:
    """How many values hang on an object of ours, containers counted through."""
    if id(thing) in seen or thing is None or isinstance(thing, str | int | float | bool | type):
        return 0
    seen.add(id(thing))
    if isinstance(thing, dict):
        return sum(_kept(value, seen) + 1 for value in thing.values())
    if hasattr(thing, "__iter__") and hasattr(thing, "__len__"):
        return len(thing) + sum(_kept(value, seen) for value in thing if not isinstance(value, float))
    names = [*getattr(thing, "__dict__", {}), *getattr(type(thing), "__slots__", ())]
    return sum(_kept(getattr(thing, name, None), seen) for name in names)


def _calls(work: Any) -> int:
    """Calls of functions, ours and the interpreter's, while something is done."""
    count = 0

    def count_call(_frame: FrameType, event: str, _what: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(count_call)
    try:
        work()
    finally:
        sys.setprofile(None)
    return count


def _reading(number: int) -> Reading:
    """One every five seconds: warming and cooling in turn, so that holds begin and end and legs are passed."""
    instant = BEGUN + timedelta(seconds=5 * number)
    return Reading("p", 30.0 + 60.0 * abs(((number / 400.0) % 2.0) - 1.0), instant, instant)  # type: ignore[arg-type]


@pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: limit.id)
@pytest.mark.parametrize("reads", ["core", "air"])
def test_fold_of_a_limit_costs_and_keeps_no_more_with_a_longer_curve(limit: Limit, reads: Any) -> None:
    fold = fold_of(limit, unit="C", began_s=BEGUN.timestamp(), reads=reads)
    if fold is None:
        assert reads == "air"
        assert limit.kind in OF_FOOD or not limit.air
        return
    watch = LimitWatch(limit, fold, "C", reads)

    def turn(first: int) -> None:
        for number in range(first, first + 800):
            watch.fold(_reading(number))
            watch.verdict(_reading(number).measured_at)

    for first in range(0, 2400, 800):
        turn(first)
    kept, calls = _kept(watch, set()), _calls(lambda: turn(2400))
    for first in range(3200, 16_000, 800):
        turn(first)
    # The same stretch of curve again, days later: a tenth more for what is thinned now and then.
    assert _calls(lambda: turn(16_000)) <= 1.1 * calls
    assert _kept(watch, set()) <= 1.1 * kept + 60  # a verdict that has come about meanwhile, told


def test_estimate_costs_and_keeps_no_more_with_a_longer_curve() -> None:
    estimator = choose("chill", falls=True, target=5.0, place="fridge", prior=Prior(60, 90, 240))

    def turn(first: int) -> None:
        for number in range(first, first + 300):
            estimator.fold(number / 10.0, 5.5 + 40.0 / (1.0 + number / 300.0))
            estimator.arrival(5.0)

    turn(0)
    kept, calls = _kept(estimator, set()), _calls(lambda: turn(300))
    for first in range(600, 9000, 300):
        turn(first)
    assert _calls(lambda: turn(9000)) <= 1.1 * calls
    assert _kept(estimator, set()) <= kept + 10
