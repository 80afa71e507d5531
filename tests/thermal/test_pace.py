"""What earlier runs on the same ring tell of the next one: exact where truth is exact, honest where it is not."""

import math

import pytest

from orchestrator.thermal.estimates import Bands, Estimator, PaceRecorder, Prior, Recalled, choose, recall, usual
from tests.thermal.truth.kitchens import runs
from tests.thermal.truth.score import score

_TARGET = 82.0


def _newton(minute: float, k: float = 0.03) -> float:
    """A pan in which 130 °C would be reached if nothing boiled: Newton's law, in closed form."""
    return 130.0 - 115.0 * math.exp(-k * minute)


def _run(k: float = 0.03) -> Bands:
    recorder = PaceRecorder(_TARGET)
    for number in range(1000):
        if _newton(number / 10.0, k) > _TARGET:
            break
        recorder.fold(number / 10.0, _newton(number / 10.0, k))
    return recorder.bands()


def test_recorded_rates_are_those_of_newtons_law() -> None:
    bands = dict(_run())
    assert set(bands) >= set(range(-12, 0))
    for band, rate in bands.items():
        middle = _TARGET + 5.0 * (band + 0.5)
        if band >= -12:
            assert rate == pytest.approx(0.03 * (130.0 - middle), rel=0.02)


def test_gap_and_something_cold_poured_in_are_no_rates() -> None:
    recorder = PaceRecorder(_TARGET)
    minute, celsius, poured = 0.0, 20.0, False
    while celsius < _TARGET:
        recorder.fold(minute, celsius)
        minute += 0.5
        celsius += 1.0
        if celsius == 45.0 and not poured:
            celsius, poured = 40.0, True
            recorder.fold(minute, celsius)
        if celsius == 60.0:
            minute += 30.0
    assert {rate for _, rate in recorder.bands()} == {2.0}


def test_recorder_keeps_no_more_whatever_it_is_fed() -> None:
    recorder = PaceRecorder(_TARGET)
    for number in range(5000):
        recorder.fold(number / 10.0, (number * 7919 % 4000) - 2000.0)
    assert len(recorder.bands()) <= 40


def test_too_few_bands_tell_nothing() -> None:
    recorder = PaceRecorder(_TARGET)
    for number in range(40):
        recorder.fold(number / 2.0, 70.0 + number / 3.0)
    assert recorder.bands() == ()
    assert usual([((), 1.0)]) is None
    assert usual([]) is None


def test_one_strange_run_moves_the_usual_pace_little_and_widens_it() -> None:
    alike = [(_run(0.03), 1.0)] * 5
    calm, stirred = usual(alike), usual([*alike, (_run(0.09), 1.0)])
    assert calm is not None
    assert stirred is not None
    # One of six that is three times as fast: a mean of minutes would be an eighth off.
    assert dict(stirred.bands) == pytest.approx(dict(calm.bands), rel=0.11)
    assert stirred.spread > calm.spread


def _followed(known: list[tuple[Bands, float]], scale: float, until: float, k: float) -> Estimator | Recalled:
    found = usual(known)
    plain = choose("cook", falls=False, target=_TARGET, place="hob", prior=Prior(20, 30, 50))
    estimator = plain if found is None else recall(plain, found, scale=scale, target=_TARGET)
    for number in range(round(until * 2)):
        estimator.fold(number / 2.0, _newton(number / 2.0, k))
    return estimator


def test_after_six_runs_of_half_the_amount_the_wait_of_the_whole_is_known_early() -> None:
    # Twice the food on the same ring: half the rate at every temperature. Truth in closed form.
    truth = math.log(115.0 / 48.0) / 0.015 - 9.5
    learned = _followed([(_run(0.03), 1.0)] * 6, 2.0, 10.0, 0.015).arrival(_TARGET)
    assert learned is not None
    assert learned.likely_min == pytest.approx(truth, rel=0.15)
    assert learned.soonest_min <= truth <= learned.latest_min


def test_curve_that_earlier_runs_do_not_fit_is_followed_all_the_same() -> None:
    """Twice as slow as six runs before it: another ring, say. Truth in closed form."""
    truth = math.log(115.0 / 48.0) / 0.03 - 9.5
    arrival = _followed([(_run(0.06), 1.0)] * 6, 1.0, 10.0, 0.03).arrival(_TARGET)
    assert arrival is not None
    assert arrival.soonest_min <= truth <= arrival.latest_min
    assert arrival.likely_min == pytest.approx(truth, rel=0.15)


@pytest.mark.parametrize("other", [False, True])
def test_after_earlier_runs_of_the_kitchen_the_error_is_less_and_the_truth_covered(other: bool) -> None:
    first, later = (score(runs(120, earlier, 7, other=other)) for earlier in (0, 6))
    assert later.coverage >= 0.88
    assert later.said >= 0.85 * 120
    assert later.ratio <= 0.65
    assert later.ratio < 0.9 * first.ratio
