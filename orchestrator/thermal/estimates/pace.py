"""How fast earlier runs of the same step in the same place warmed, by temperature; from that, how this one will."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

import numpy as np

from orchestrator.thermal.estimates.bank import Array

BAND_C: Final = 5.0
"""Rates are kept for bands of so many degrees, counted from the target."""
_LEAD_MIN: Final = 2.0
"""The pan itself is being heated: no rate of the food."""
_LONGEST_GAP_MIN: Final = 5.0
_POURED_C: Final = -1.5
"""A fall like this between two readings is something cold that was added, not a loss."""
_FEWEST_BANDS: Final = 4
_USUAL_SPREAD: Final = 0.2
_AS_RUNS: Final = 3.0
"""What kitchens differ from run to run before this one has shown it (a share), and how many runs that weighs."""
_LAST: Final = -6
"""Over the bands from this one on it is seen how much runs differ: there they do most."""
_SPREAD_REACH: Final = (0.7, 2.0)
"""How much steadier or less steady than others a kitchen is taken for at most."""
_TWICE: Final = 2.0
"""A band that once took more than twice its usual minutes counts as twice, and so for half: somebody paused."""
_PAUSED: Final = 20.0
"""Runs after which a band's own mean weighs as much as a smooth curve through all bands."""

Bands = tuple[tuple[int, float], ...]
"""Number of a band below the target (-1 ends at it) and its rate in degrees a minute."""


class PaceRecorder:
    """One run's rates by temperature, reading by reading; of bounded size whatever comes."""

    def __init__(self, target: float) -> None:
        self._target = target
        self.gained: dict[int, tuple[float, float]] = {}
        """By band: degrees and minutes."""
        self._begun: float | None = None
        self._before = (0.0, 0.0)

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; what is at the target or 200 °C below it is left out."""
        if self._begun is None:
            self._begun, self._before = minute, (minute, celsius)
            return
        passed, rise = minute - self._before[0], celsius - self._before[1]
        middle = celsius - rise / 2.0
        self._before = (minute, celsius)
        if minute - self._begun < _LEAD_MIN or not 0.0 < passed <= _LONGEST_GAP_MIN or rise < _POURED_C:
            return
        if self._target - 200.0 < middle < self._target:
            band = math.floor((middle - self._target) / BAND_C)
            degrees, minutes = self.gained.get(band, (0.0, 0.0))
            self.gained[band] = (degrees + rise, minutes + passed)

    def bands(self) -> Bands:
        """The rates of all bands that were passed, the coldest first; empty where too few were."""
        found = tuple(
            (band, round(degrees / minutes, 4))
            for band, (degrees, minutes) in sorted(self.gained.items())
            if degrees > 0.5 * BAND_C
        )
        return found if len(found) >= _FEWEST_BANDS else ()


@dataclass(frozen=True, slots=True)
class Usual:
    """What earlier runs say of one with the recipe's own amount."""

    bands: Bands
    """The coldest first, without gaps."""
    spread: float
    """How much runs differ here, as a multiple of what is usual in kitchens."""
    runs: int

    def minutes_a_degree(self, bands: Array) -> Array:
        """By number of a band; colder ones than were seen are as the coldest, warmer ones go on as the last two did."""
        numbers = np.array([float(band) for band, _ in self.bands])
        slowness = np.array([1.0 / rate for _, rate in self.bands])
        found: Array = np.interp(bands, numbers, slowness)
        steeper = min(max(float(slowness[-1] / slowness[-2]), 1.0), 1.5)
        beyond: Array = found * np.power(steeper, np.maximum(bands - numbers[-1], 0.0))
        return beyond


def usual(runs: Sequence[tuple[Bands, float]]) -> Usual | None:
    """The usual pace of earlier runs, and how much one differs from another; none without any.

    Args:
        runs: Their rates, and the scale of each one's batch: a ring gives its heat, so twice the food takes twice the
            time.

    Of each band the mean of its minutes, drawn towards a smooth curve through all of them while runs are few. One that
    went wrong moves it little. The spread is that of the runs, with what kitchens usually have as if it had been seen
    in three more.
    """
    known = [(dict(bands), scale) for bands, scale in runs if len(bands) >= _FEWEST_BANDS and scale > 0.0]
    if not known:
        return None
    numbers = range(min(min(rates) for rates, _ in known), max(max(rates) for rates, _ in known) + 1)
    means, counts = _means(known, numbers)
    slowness = dict(zip(numbers, _smoothed(means, counts).tolist(), strict=True))
    off = []
    for rates, scale in known:
        last = [band for band in rates if band >= _LAST] or list(rates)
        took = sum(1.0 / (rates[band] * scale) for band in last)
        off.append(math.log(sum(slowness[band] for band in last) / took))
    variance = _AS_RUNS * _USUAL_SPREAD**2 + sum(min(o * o, 1.0) for o in off)
    differs = math.sqrt(variance / (_AS_RUNS + len(known))) / _USUAL_SPREAD
    spread = min(max(differs, _SPREAD_REACH[0]), _SPREAD_REACH[1]) * math.sqrt(1.0 + 1.5 / len(known))
    return Usual(tuple((band, 1.0 / slow) for band, slow in slowness.items()), spread, len(known))


def _means(known: Sequence[tuple[dict[int, float], float]], numbers: range) -> tuple[Array, Array]:
    """Minutes a degree by band, and in how many runs it was seen; where in none, not a number."""
    means, counts = [], []
    for band in numbers:
        seen = [1.0 / (rates[band] * scale) for rates, scale in known if band in rates]
        usually = median(seen) if seen else 0.0
        kept = [min(max(slow, usually / _TWICE), usually * _TWICE) for slow in seen]
        means.append(sum(kept) / len(kept) if kept else math.nan)
        counts.append(float(len(seen)))
    return np.array(means), np.array(counts)


def _smoothed(means: Array, counts: Array) -> Array:
    """The means, drawn towards a parabola through their logarithms as far as runs are few."""
    place: Array = np.linspace(-1.0, 0.0, len(means))
    seen = counts > 0.0
    powers = np.stack((np.ones(len(place)), place, place * place), axis=1)
    # The last bands scatter most.
    weights = np.sqrt(counts[seen]) / (1.5 + place[seen])
    fit, *_ = np.linalg.lstsq(powers[seen] * weights[:, None], np.log(means[seen]) * weights, rcond=None)
    curve: Array = np.exp(powers @ fit)
    share = counts / (counts + _PAUSED)
    own = np.where(seen, means, curve)
    drawn: Array = curve * (own / curve) ** share
    return drawn
