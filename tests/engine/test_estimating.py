"""Expected ends that plans are made with stay calm; what is foretold is old only where it cannot matter."""

from datetime import timedelta

import numpy as np
import pytest

from orchestrator.engine.estimating import Foretold, moved_end, oldest_min
from orchestrator.thermal.estimates import Estimator, Prior, choose
from orchestrator.thermal.trend import Arrival
from tests.fakes.kitchens import at
from tests.thermal.truth.curves import curves

NOW = at("Wed 09:00")
START = at("Wed 07:00")


def _in(minutes: float) -> Arrival:
    return Arrival(minutes * 0.8, minutes * 1.25, minutes)


def test_expected_end_is_kept_while_the_interval_holds_it_and_moved_when_it_has_left() -> None:
    first = moved_end(None, NOW, _in(60))
    assert first == NOW + timedelta(minutes=60)
    assert moved_end(first, NOW, _in(64)) == first
    assert moved_end(first, NOW, _in(70)) == first
    assert moved_end(first, NOW, _in(90)) == NOW + timedelta(minutes=90)


def _dense(kind: str, count: int, seed: int) -> list[tuple[Foretold, Estimator, list[tuple[float, float]], float]]:
    """Curves of the simulated truth, read every few seconds: one estimator asked seldom, and one always."""
    found = []
    for curve in curves(kind, count, seed):
        fine = np.arange(0.0, min(float(curve.minutes[-1]), 200.0), 1.0 / 12.0)
        values = np.interp(fine, curve.minutes, curve.values)
        prior = Prior(curve.shortest_min, curve.usual_min, curve.longest_min)
        falls = kind != "hob"
        first, second = (
            choose("chill" if falls else "cook", falls=falls, target=curve.target, place=kind, prior=prior)
            for _ in range(2)
        )
        found.append((Foretold(first), second, list(zip(fine.tolist(), values.tolist(), strict=True)), curve.target))
    return found


@pytest.mark.parametrize("kind", ["hob", "ice bath"])
def test_what_is_foretold_is_what_was_said_lately_and_is_worked_out_seldom(kind: str) -> None:
    asked = readings = 0
    for foretold, estimator, points, target in _dense(kind, 12, 31):
        said: dict[float, Arrival | None] = {}
        for minute, celsius in points:
            foretold.fold(minute, START + timedelta(minutes=minute), celsius)
            estimator.fold(minute, celsius)
            said[minute] = estimator.arrival(target)
            expected = foretold.when(target)
            readings += 1
            if expected is None:
                lately = [arrival for at, arrival in said.items() if minute - at <= oldest_min(minute)]
                assert None in lately
                continue
            asked += expected.asked_min == minute
            then = said[expected.asked_min]
            assert then is not None
            # Readings added together and one by one are the same but for the last digits.
            for name in ("soonest_min", "latest_min", "likely_min"):
                assert getattr(expected.told, name) == pytest.approx(getattr(then, name), rel=1e-9)
            assert minute - expected.asked_min <= oldest_min(then.soonest_min) + 1e-9
            soonest_at = START + timedelta(minutes=expected.asked_min + then.soonest_min)
            assert abs(expected.soonest_at - soonest_at) < timedelta(milliseconds=1)
    assert asked < 0.5 * readings


@pytest.mark.parametrize("kind", ["hob", "ice bath"])
@pytest.mark.parametrize("share", [0.8, 1.0, 1.3])
def test_warning_comes_no_later_than_an_answer_may_be_old(kind: str, share: float) -> None:
    warned = 0
    for foretold, estimator, points, target in _dense(kind, 12, 32):
        limit = share * (points[-1][0] + 10.0)
        late_since: float | None = None
        for minute, celsius in points:
            foretold.fold(minute, START + timedelta(minutes=minute), celsius)
            estimator.fold(minute, celsius)
            now, before = estimator.arrival(target), foretold.arrival(target)
            late = now is not None and minute + now.soonest_min > limit
            if not late or now is None:
                late_since = None
                continue
            late_since = minute if late_since is None else late_since
            # Since then it has been late without a break: by now it must be said, as soon as the answer may be too old.
            if minute - late_since > max(oldest_min(minute), oldest_min(now.soonest_min + 5.0)) + 0.1:
                assert before is not None
                assert minute + before.soonest_min > limit - 1e-6
                warned += 1
    assert warned > 0 or share > 1.0


def test_last_readings_before_a_silence_are_looked_at_when_the_clock_has_gone_on() -> None:
    foretold = Foretold(choose("cook", falls=False, target=82.0, prior=Prior(30, 40, 60)))
    for number in range(197):
        foretold.fold(number / 10, START + timedelta(minutes=number / 10), 20.0 + number / 10)
        expected = foretold.when(82.0)
    assert expected is not None
    assert expected.asked_min < 19.6
    foretold.settle(19.65)
    unsettled = foretold.when(82.0)
    assert unsettled is not None
    assert unsettled.asked_min == expected.asked_min
    foretold.settle(23.0)
    settled = foretold.when(82.0)
    assert settled is not None
    assert settled.asked_min == 19.6
