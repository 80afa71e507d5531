"""The wait for a weight by earlier runs of the same step in the same place, and by how this run differs so far.

As `by_runs`, with tenths of the way from the first weight to the wanted one in place of bands of temperature.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

import numpy as np
from numpy.typing import NDArray

from orchestrator.thermal.estimates.bank import Array
from orchestrator.thermal.estimates.clock import TOO_FEW, told
from orchestrator.thermal.trend import Arrival

Weights = Sequence[tuple[float, float]]
"""Minutes, and shares of the first weight, the oldest first."""
TENTHS: Final = 10
_NEARLY: Final = 0.97
"""Of the way: a run that ended before shows nothing of its end."""
_REACH: Final = 2.0
"""A tenth that once took more than twice its usual minutes counts as twice, and so for half."""
# How runs differ from their usual one, as shares of the minutes of a tenth: all alike, more and more towards the end,
# and each by itself. Fitted to simulated kitchens of other seeds.
_ALIKE: Final = 0.12
_AT_THE_END: Final = 0.12
_ALONE: Final = 0.08
_FIRST: Final = 0.3
"""The first tenth besides: it is brought to the boil, or is warmed."""
_SCALE: Final = 0.004
"""Of the first weight: what scales and rounding leave uncertain of one weight."""
_AS_RUNS: Final = 4.0
"""What kitchens usually differ from run to run counts as if it had been seen in so many more."""
_FURTHEST: Final = (-0.8, 2.0)
_MARGIN: Final = 0.005
"""Of the usual minutes, by which an interval is wider at both ends: nobody reads a scale to the second."""
_TELLS: Final = 0.3
"""A tenth of which less is behind tells nothing yet, unless its usual minutes are over."""
_FASTEST: Final = 0.2
"""Of the usual minutes: no wait is shorter, whatever came before."""
_FLOOR: Final = 0.05
"""Relative error of the wait that no weight takes away."""


@dataclass(frozen=True, slots=True)
class UsualWay:
    """What earlier runs show of one with the recipe's own amount."""

    minutes: tuple[float, ...]
    """By tenth of the way."""
    spread: float
    """How much runs differ here, as a multiple of what is usual in kitchens."""
    runs: int


def takes_longer(process: str, scale: float) -> float:
    """By how much a batch takes longer for its amount: a ring gives its heat, but more trays dry side by side."""
    return 1.0 if process == "dehydrate" else scale


def usual_way(runs: Sequence[tuple[Weights, float]], reduce_to: float) -> UsualWay | None:
    """The usual minutes of earlier runs, by tenth of the way; none without any that got there.

    Args:
        runs: Their weights, and by how much each took longer because of its amount.
        reduce_to: Share of the first weight that was wanted.
    """
    known = [way / longer for way, longer in ((_tenths(w, reduce_to), longer) for w, longer in runs) if way is not None]
    if not known:
        return None
    minutes = []
    for seen in np.array(known).T.tolist():
        usually = median(seen)
        minutes.append(sum(min(max(m, usually / _REACH), usually * _REACH) for m in seen) / len(seen))
    whole = sum(minutes)
    off = [math.log(float(way.sum()) / whole) for way in known]
    variance = (_AS_RUNS * _ALIKE**2 + sum(min(o * o, 1.0) for o in off)) / (_AS_RUNS + len(known))
    spread = min(max(math.sqrt(variance) / _ALIKE, 0.7), 2.0) * math.sqrt(1.0 + 1.5 / len(known))
    return UsualWay(tuple(minutes), spread, len(known))


def _tenths(weights: Weights, reduce_to: float) -> Array | None:
    """Minutes by tenth of the way; none of a run that did not get there."""
    if len(weights) < 2 or reduce_to >= 1.0:
        return None
    if (1.0 - weights[-1][1]) / (1.0 - reduce_to) < _NEARLY:
        return None
    minutes, way = _way(weights[:-1], reduce_to)
    before = way < 1.0
    minutes, way = np.append(minutes[before], weights[-1][0] - weights[0][0]), np.append(way[before], 1.0)
    at = np.interp(np.linspace(0.0, 1.0, TENTHS + 1), way, minutes)
    # Two weights between which several tenths lie make them alike; none takes no time.
    found: Array = np.maximum(np.diff(at), 1e-3 * max(float(at[-1]), 1e-3))
    return found


def _way(weights: Weights, reduce_to: float) -> tuple[Array, Array]:
    """Minutes, and how far it was by then: 0 at the first weight, 1 at the wanted one; never backwards.

    Weights that would go backwards are taken together at their middle (isotonic regression by pooling): the furthest so
    far would be too far, the more so the oftener somebody weighs.
    """
    pools: list[tuple[float, float, int]] = []
    for minute, share in weights[1:]:
        pool = (minute - weights[0][0], (1.0 - share) / (1.0 - reduce_to), 1)
        while pools and pool[1] <= pools[-1][1]:
            before = pools.pop()
            many = before[2] + pool[2]
            minutes, way = ((before[i] * before[2] + pool[i] * pool[2]) / many for i in (0, 1))
            pool = (minutes, way, many)
        pools.append(pool)
    found = np.array([(0.0, 0.0), *((minutes, way) for minutes, way, _ in pools if way > 0.0)])
    return found[:, 0], found[:, 1]


class ByWeights:
    """Follows one run of a step that was done before in the same place; from its first weight on."""

    def __init__(self, process: str, known: UsualWay, scale: float) -> None:
        """Nothing is weighed yet.

        Args:
            process: The step's process, in the words of recipes.
            known: What earlier runs showed.
            scale: Of this batch.
        """
        self._known = known
        self._way = "dehydrate, known" if process == "dehydrate" else "simmer, known"
        self._longer = takes_longer(process, scale)
        self._weights: list[tuple[float, float]] = []
        self.why_none = TOO_FEW
        """Why the newest `arrival` was none; empty when there was one."""
        self.raw = (0.0, 0.0)
        """Logarithm of the wait and its spread before calibration, of the newest arrival."""

    @property
    def runs(self) -> int:
        """How many earlier runs it leans on."""
        return self._known.runs

    def fold(self, minute: float, share: float) -> None:
        """Take one weight, as a share of the first; ``minute`` must not decrease."""
        self._weights.append((minute, share))

    def arrival(self, target: float) -> Arrival | None:
        """When it weighs ``target``, a share of the first weight: an interval of 90 %, in minutes from the newest."""
        if not self._weights:
            return None
        self.raw = reckoned(self._known, self._longer, self._weights, target)
        passed = self._weights[-1][0] - self._weights[0][0]
        arrival, self.why_none = told(self._way, passed, *self.raw, _MARGIN * sum(self._known.minutes) * self._longer)
        return arrival


def reckoned(known: UsualWay, longer: float, weights: Weights, reduce_to: float) -> tuple[float, float]:
    """Logarithm of the middle wait from the last weight, in minutes, and its spread.

    Args:
        known: What earlier runs showed.
        longer: By how much this run takes longer because of its amount.
        weights: Of this run; at least the first.
        reduce_to: Share of the first weight that is wanted.
    """
    usual = np.array(known.minutes) * longer
    spent, passed = _so_far(weights, reduce_to)
    behind = np.flatnonzero((passed > _TELLS) | (spent > usual))
    ahead = np.flatnonzero(passed < 1.0)
    part = np.clip(passed[behind], _TELLS, 1.0)
    shown = np.clip(spent[behind] / (part * usual[behind]) - 1.0, *_FURTHEST)
    read = _SCALE * TENTHS / (1.0 - reduce_to)
    off, covariance = _off(known.spread**2 * _COVARIANCE, (behind, ahead), shown, (part, read))
    left = usual[ahead] * (1.0 - passed[ahead])
    begun = ahead[0]
    if passed[begun] <= _TELLS:
        # What a tenth has used up of its usual minutes before anything was gone is over.
        left[0] = max(left[0] - float(spent[begun]) * (1.0 - passed[begun]), _FASTEST * left[0])
    mean = max(float(left @ (1.0 + off)), _FASTEST * float(left.sum()))
    variance = float(left @ covariance @ left) + (read * float(usual[begun])) ** 2
    spread2 = math.log1p(variance / mean**2)
    return math.log(mean) - 0.5 * spread2, math.sqrt(spread2 + _FLOOR**2)


def _so_far(weights: Weights, reduce_to: float) -> tuple[Array, Array]:
    """Minutes spent in each tenth, and how much of it is behind, 0 to 1; never quite all of the way."""
    minutes, way = _way(weights, reduce_to)
    here = min(float(way[-1]), 1.0 - 1e-3)
    edges = np.linspace(0.0, 1.0, TENTHS + 1)
    spent = np.diff(np.interp(edges, way, minutes)) if here > 0.0 else np.zeros(TENTHS)
    since = weights[-1][0] - weights[0][0] - float(spent.sum())
    spent[min(int(here * TENTHS), TENTHS - 1)] += max(since, 0.0)
    return spent, np.clip((here - edges[:-1]) * TENTHS, 0.0, 1.0)


def _off(
    every: Array, where: tuple[NDArray[np.intp], NDArray[np.intp]], shown: Array, seen: tuple[Array, float]
) -> tuple[Array, Array]:
    """By how much the tenths ahead are expected to differ from the usual, as shares, and their covariance.

    Args:
        every: Covariance of all tenths.
        where: Those behind, and those ahead.
        shown: By how much those behind differed, as shares.
        seen: How much of each of them, and what a weight leaves uncertain of a whole one.
    """
    (behind, ahead), (part, read) = where, seen
    before = every[np.ix_(ahead, ahead)]
    if not len(behind):
        return np.zeros(len(ahead)), before
    together, across = every[np.ix_(behind, behind)], every[np.ix_(behind, ahead)]
    doubt = (read / part) ** 2 + np.diag(together) * (1.0 / part - 1.0)
    gain = np.linalg.solve(together + np.diag(doubt), across).T
    return gain @ shown, before - gain @ across


def _covariance() -> Array:
    late = np.exp((np.arange(TENTHS) - TENTHS + 1.0) / 3.0)
    alone = np.full(TENTHS, _ALONE**2)
    alone[0] += _FIRST**2
    found: Array = _ALIKE**2 + _AT_THE_END**2 * np.outer(late, late) + np.diag(alone)
    return found


_COVARIANCE: Final = _covariance()
