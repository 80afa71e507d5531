"""Weighted straight lines through readings that fade, for many hypotheses at once: sums, never the readings."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from orchestrator.thermal.estimates.bank import Array

_REBASED: Final = 5.0
"""Times are counted from an origin that is moved on after so many of the shortest memories, so that nothing overflows
and no digits are lost."""


_ROWS: Final = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
"""Powers of t and of τ in each sum."""
LONGEST_SPAN: Final = 5.0
"""Readings added at once may lie so many of the shortest memories apart, for the same reason."""


@dataclass(slots=True)
class Line:
    """By memory and hypothesis; readings alone."""

    level: Array
    """τ now."""
    rate: Array
    """τ a minute."""
    spread: Array
    """Weighted sum of squared times about their middle."""
    rest: Array
    """Weighted sum of squared residuals."""
    counts: list[float]
    """Readings by memory, faded."""


class FadingSums:
    """Sums of w, w·t, w·τ, w·t², w·t·τ, w·τ² for each memory and hypothesis.

    A reading that came at t weighs exp(t / memory) here, the newest most: so what faded needs no touching when the next
    one comes, and all are brought down to it only when somebody asks. Adding is one product and one sum.
    """

    def __init__(self, memories: tuple[float, ...], hypotheses: int) -> None:
        self._memories, many = memories, len(memories)
        self._of_time = np.zeros((6, many, 1))
        self._of_value = np.zeros((6, 1, hypotheses))
        self._rows = tuple(self._of_value[:, 0])
        self._one = np.zeros((6, many, hypotheses))
        self._all = np.zeros_like(self._one)
        self._origin = 0.0
        self._counts = [0.0] * many

    def begin(self, minute: float) -> None:
        """The first instant."""
        self._origin = minute

    def add(self, minute: float, weight: Array, tau: Array) -> None:
        """Take one reading, by hypothesis; ``minute`` must not decrease."""
        if minute - self._origin > _REBASED * self._memories[-1]:
            self._rebase(minute)
        t, of_time, counts = minute - self._origin, [], self._counts
        for number, memory in enumerate(self._memories):
            grown = math.exp(t / memory)
            counts[number] += grown
            of_time.append((grown, grown * t, grown, grown * t * t, grown * t, grown))
        self._of_time[:, :, 0].T[:] = of_time
        w, wt, wx, wtt, wtx, wxx = self._rows
        w[:] = wt[:] = wtt[:] = weight
        np.multiply(weight, tau, out=wx)
        wtx[:] = wx
        np.multiply(wx, tau, out=wxx)
        np.multiply(self._of_time, self._of_value, out=self._one)
        self._all += self._one

    def add_many(self, minutes: Array, weights: Array, taus: Array) -> None:
        """Take several readings at once, by reading and hypothesis: the same as one after the other, for less."""
        first, last = float(minutes[0]), float(minutes[-1])
        if last - self._origin > _REBASED * self._memories[-1]:
            self._rebase(first)
        since = minutes - self._origin
        grown = np.exp(since / np.array(self._memories)[:, None])
        of_time = np.stack((grown, grown * since, grown * since * since))
        weighed = weights * taus
        of_value = np.stack((weights, weighed, weighed * taus), axis=1)
        many, readings = grown.shape
        flat = of_time.reshape(3 * many, readings) @ of_value.reshape(readings, -1)
        by_both = flat.reshape(3, many, 3, -1)
        for row, (time, value) in enumerate(_ROWS):
            self._all[row] += by_both[time, :, value]
        self._counts = [count + more for count, more in zip(self._counts, grown.sum(axis=1).tolist(), strict=True)]

    def _rebase(self, minute: float) -> None:
        """Count times from here."""
        passed, (w, wt, wx, wtt, wtx, _) = minute - self._origin, self._all
        wtt += passed * (passed * w - 2.0 * wt)
        wt -= passed * w
        wtx -= passed * wx
        keep = self._faded(minute)
        self._all *= np.array(keep)[None, :, None]
        self._counts = [count * kept for count, kept in zip(self._counts, keep, strict=True)]
        self._origin = minute

    def _faded(self, minute: float) -> list[float]:
        t = minute - self._origin
        return [math.exp(-t / memory) for memory in self._memories]

    def counts(self, minute: float) -> list[float]:
        """How many readings weigh at an instant, by memory."""
        return [count * kept for count, kept in zip(self._counts, self._faded(minute), strict=True)]

    def line(self, minute: float) -> Line:
        """The lines as they stand at an instant that is not before the last reading."""
        sums, keep = self._all, np.array(self._faded(minute))[:, None]
        means = sums[1:3] / sums[0]
        middle, level = means
        about = sums[3:5] - sums[1] * means
        about *= keep
        spread, cross = about
        np.maximum(spread, 1e-300, out=spread)
        rate = cross / spread
        rest = sums[5] - sums[2] * level
        rest *= keep
        cross *= rate
        rest -= cross
        np.maximum(rest, 0.0, out=rest)
        np.subtract(minute - self._origin, middle, out=middle)
        middle *= rate
        level += middle
        return Line(level, rate, spread, rest, self.counts(minute))
