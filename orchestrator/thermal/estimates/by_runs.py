"""The wait by earlier runs of the same step in the same place, and by how the present run differs from them so far.

Minutes in each band of temperature, as shares of the usual, are taken for normal deviates that go together: what this
run has shown in the bands behind it says what to expect in those before it (regression of the one on the other).
"""

import math
from collections import deque
from functools import lru_cache
from typing import Final

import numpy as np

from orchestrator.thermal.estimates.bank import Array
from orchestrator.thermal.estimates.pace import BAND_C, PaceRecorder, Usual

# How runs of one step in one place differ from their usual one, as shares of the minutes in a band. Fitted to simulated
# kitchens of other seeds; four ways in which they do, each by its cause.
_ALL_ALIKE: Final = 0.05
"""The whole run slower or faster: the ring's setting, the amount."""
_AT_THE_END: Final = 0.36
_END_C: Final = 20.0
"""What a lid and the ring do where most of the heat is lost: at the target, and over how many degrees it fades."""
_CROSSED: Final = 0.17
"""A spoon lets the pan catch up: one band is shorter by as much as its neighbour was longer."""
_ALONE: Final = 0.19
_GROWS: Final = (1.0, 0.57, 70.0)
"""What concerns one band alone, how the last two grow towards the target, and from how far below it on."""
_WAYS: Final = ((0.9, _ALL_ALIKE, _AT_THE_END), (0.1, 0.3, 0.45))
"""The chance that a run goes as they do here, with the first two figures; and as if ring, pan or cook were others."""
_READ_C: Final = 0.28
"""What thermometer and rounding leave uncertain of the degrees gained."""
_LEAST_C: Final = 1.0
"""A band of which less has passed tells nothing yet."""
_FURTHEST: Final = (-0.9, 2.0)
"""A band in which somebody poured or paused shows no more than this."""
_LEVEL_MIN: Final = 1.6
"""What the newest readings agree on is where it is now."""
_FLOOR: Final = 0.1
"""Relative error of the wait that no number of readings takes away."""
_NEAR_MIN: Final = 0.3
"""Nor is any wait known to less than this: a spoon, a lid."""
_FASTEST: Final = 0.2
"""Of the usual minutes: no wait is shorter, whatever came before."""


class ByRuns:
    """Follows one run of a step that was done before; asked after every reading it costs a few small matrices."""

    def __init__(self, known: Usual, scale: float, target: float) -> None:
        """Nothing is read yet.

        Args:
            known: What earlier runs showed.
            scale: Of this batch.
            target: °C, of the step.
        """
        self._known, self._scale, self._target = known, scale, target
        self._recorder = PaceRecorder(target)
        self._newest: deque[tuple[float, float]] = deque(maxlen=64)

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; ``minute`` must not decrease."""
        self._recorder.fold(minute, celsius)
        self._newest.append((minute, celsius))

    def reckoned(self, target: float) -> tuple[float, float] | None:
        """Logarithm of the middle wait in minutes and its spread; none before there are readings."""
        level = self._level()
        if level is None:
            return None
        level = min(level, target - 0.1)
        first = math.floor((level - self._target) / BAND_C)
        ahead: Array = np.arange(first, math.ceil((target - self._target) / BAND_C), dtype=np.float64)
        edges = self._target + BAND_C * ahead
        degrees = np.minimum(edges + BAND_C, target) - np.maximum(edges, level)
        usual = self._known.minutes_a_degree(ahead) * self._scale * degrees
        middles, spreads2, chances = zip(*(self._wait(usual, *found) for found in self._off(ahead)), strict=True)
        weights = np.exp(np.array(chances) - max(chances))
        weights /= weights.sum()
        middle = float(weights @ np.array(middles))
        spread2 = float(weights @ (np.array(spreads2) + (np.array(middles) - middle) ** 2))
        # Where it is by now is not exact either.
        here = (_NEAR_MIN + _READ_C * float(usual[0] / max(degrees[0], 0.1))) / math.exp(middle)
        return middle, math.sqrt(spread2 + min(here, 1.0) ** 2 + _FLOOR**2)

    def _wait(self, usual: Array, off: Array, covariance: Array, chance: float) -> tuple[float, float, float]:
        """Logarithm of the middle wait and its variance, of a lognormal one; with the chance as it was given."""
        mean = max(float(usual @ (1.0 + off)), _FASTEST * float(usual.sum()))
        spread2 = math.log1p(max(float(usual @ covariance @ usual), 0.0) / mean**2)
        return math.log(mean) - 0.5 * spread2, spread2, chance

    def _level(self) -> float | None:
        """Where it is by now, °C: a straight line through the newest readings."""
        if not self._newest:
            return None
        now, last = self._newest[-1]
        near = np.array([(minute - now, celsius) for minute, celsius in self._newest if now - minute <= _LEVEL_MIN])
        if len(near) < 3:
            return last
        minutes = near[:, 0] - near[:, 0].mean()
        spread = float(minutes @ minutes)
        rate = float(minutes @ near[:, 1]) / spread if spread > 0.0 else 0.0
        line = float(near[:, 1].mean() - rate * near[:, 0].mean())
        return min(max(line, last - 1.5), last + 1.5)

    def _off(self, ahead: Array) -> list[tuple[Array, Array, float]]:
        """By how much the bands ahead are expected to differ from the usual, as shares, with their covariance.

        Once as runs here do, once as in another kitchen; beside each the logarithm of its chance by what was shown.
        """
        bands, degrees, minutes = self._passed()
        shown = minutes / np.maximum(degrees, _LEAST_C) / (self._known.minutes_a_degree(bands) * self._scale) - 1.0
        shown = np.clip(shown, *_FURTHEST)
        seen = np.clip(degrees, 0.5, BAND_C)
        to, of = tuple(ahead.tolist()), tuple(bands.tolist())
        found = []
        wide = self._known.spread**2
        for chance, alike, late in _WAYS:
            pairs = ((to, to), (of, of), (of, to))
            before, together, across = (wide * _covariance(one, other, alike, late) for one, other in pairs)
            # A part of a band is a smaller sample of it, and its degrees are less exact.
            doubt = (_READ_C / seen) ** 2 + np.diag(together) * (BAND_C / seen - 1.0)
            expected = together + np.diag(doubt)
            gain = np.linalg.solve(expected, across).T
            fits = -0.5 * float(shown @ np.linalg.solve(expected, shown)) - 0.5 * float(np.linalg.slogdet(expected)[1])
            found.append((gain @ shown, before - gain @ across, math.log(chance) + fits))
        return found

    def _passed(self) -> tuple[Array, Array, Array]:
        """Bands that say something, with degrees gained and minutes spent in them."""
        told = []
        for band, (degrees, minutes) in sorted(self._recorder.gained.items()):
            expected = float(self._known.minutes_a_degree(np.array([float(band)]))[0]) * self._scale
            # One in which it stands still tells by its minutes.
            if minutes > 0.0 and (degrees > _LEAST_C or minutes > 2.0 * expected):
                told.append((float(band), degrees, minutes))
        table = np.array(told).reshape(-1, 3)
        return table[:, 0], table[:, 1], table[:, 2]


@lru_cache(maxsize=512)
def _covariance(ones: tuple[float, ...], others: tuple[float, ...], alike: float, at_the_end: float) -> Array:
    """Of the shares by which bands differ from the usual run; by number of each band below the target."""
    a, b = np.array(ones)[:, None], np.array(others)[None, :]
    fades = BAND_C / _END_C
    late = at_the_end**2 * np.exp(fades * (a + b + 2.0))
    same, next_to = (a == b).astype(np.float64), (np.abs(a - b) == 1.0).astype(np.float64)
    one = _grown(a) * _grown(b) * (_CROSSED**2 * (2.0 * same - next_to) + _ALONE**2 * same)
    found: Array = alike**2 + late + one
    found.setflags(write=False)
    return found


def _grown(band: Array) -> Array:
    first, more, reach = _GROWS
    near = np.clip(1.0 + band * BAND_C / reach, 0.0, 1.0)
    return first + more * near * near
