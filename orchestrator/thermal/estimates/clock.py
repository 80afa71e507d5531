"""The estimator: how fast a process's own clock runs, folded reading by reading."""

import math
from collections import deque
from dataclasses import dataclass

import numpy as np

from orchestrator.thermal.estimates.bank import Array, Bank
from orchestrator.thermal.estimates.calibration import calibrated
from orchestrator.thermal.trend import Arrival

_LONGEST_MIN = 48 * 60.0
_EVIDENCE = 12.0
"""Neighbouring residuals resemble each other: more readings than this weigh no more between hypotheses."""
_WIDEST = 3.0
"""In logarithms: a latest of twenty times the soonest tells nobody anything."""


@dataclass(frozen=True, slots=True)
class Prior:
    """Shortest, usual and longest minutes of the whole step, before there are readings."""

    shortest_min: float
    usual_min: float
    longest_min: float


@dataclass(frozen=True, slots=True)
class Tuning:
    """How a process is followed. Figures are our own, tuned on simulated curves."""

    noise: float
    """Of one reading, in its own unit."""
    memories: tuple[float, ...]
    """Minutes over which old readings fade, from patient to quick."""
    floor: float
    """Relative error of the time left that no number of readings takes away."""
    way: str
    """Whose calibration applies; see `calibration`."""
    early: float = 0.3
    """Relative error of the rate at the very beginning, dying away as the process moves on: its start is no sample of
    the rest (a core that does not feel the cold yet, a pan that does not boil yet)."""
    settle_min: float = 0.0
    """Nothing is said before: the food is being put in place."""
    fewest: int = 4
    never: float = 0.15
    """More chance than this that it levels off before the target: no estimate."""


class Estimator:
    """Follows one process towards whatever is asked; a reading costs the same after a minute and after a week.

    For each hypothesis of the bank and each memory, the rate of its clock is a weighted straight line through the
    readings. The recipe's minutes are a first idea of the rate, and count less the more is seen. Hypotheses are
    weighed by how well they fit, memories by how well they foretold the readings that came after.
    """

    def __init__(self, bank: Bank, tuning: Tuning, prior: Prior | None = None, target: float | None = None) -> None:
        self._bank, self._tuning, self._prior, self._target = bank, tuning, prior, target
        hypotheses = bank.tau.shape[1]
        shape = (len(tuning.memories), hypotheses)
        self._memories = np.array(tuning.memories)[:, None]
        # Sums of w, w·t, w·t², w·τ, w·t·τ, w·τ², with t counted back from the newest reading.
        self._sums = np.zeros((6, *shape))
        self._count = np.zeros((len(tuning.memories), 1))
        self._misfit = np.zeros(hypotheses)
        self._skill = np.zeros((len(tuning.memories), 1))
        self._foretold: tuple[float, Array] | None = None
        self._begun: float | None = None
        self._first = 0.0
        self._last = 0.0
        self._level = 0.0
        self.why_none = "too few readings"
        """Why the newest `arrival` was none; empty when there was one."""
        self.raw = (0.0, 0.0)
        """Logarithm of the wait and its spread before calibration, of the newest arrival."""
        self._recent: deque[float] = deque(maxlen=5)
        self._answers: dict[float, tuple[Arrival | None, str, tuple[float, float]]] = {}

    def fold(self, minute: float, value: float) -> None:
        """Take one reading; ``minute`` must not decrease."""
        b = self._bank
        if self._begun is None:
            self._begun, self._first, self._last = minute, value, minute
        self._answers.clear()
        passed = minute - self._last
        self._last = minute
        self._recent.append(value)
        clipped = np.minimum(np.maximum(value, b.lowest), b.highest)
        tau, slope = _at(b, clipped)
        outside = value - clipped
        if passed > 0.0:
            self._fade(passed)
        self._judge(minute, tau, slope)
        weight = 1.0 / np.maximum(slope * slope, 1e-18)
        s = self._sums
        s[0] += weight
        s[3] += weight * tau
        s[5] += weight * tau * tau
        self._count += 1.0
        self._misfit += outside * outside

    def _fade(self, passed: float) -> None:
        """Let old readings count less, and count their time from now."""
        keep = np.exp(-passed / self._memories)
        s = self._sums
        s[4] -= passed * s[3]
        s[2] += passed * (passed * s[0] - 2.0 * s[1])
        s[1] -= passed * s[0]
        s *= keep
        self._count *= keep
        self._misfit *= float(keep[0, 0])

    def _judge(self, minute: float, tau: Array, slope: Array) -> None:
        """How well each memory foretold this; every so often a new forecast is made."""
        span = self._tuning.memories[-1]
        if self._foretold is not None:
            since, line = self._foretold
            ahead = minute - since
            if ahead < 0.5 * span:
                return
            error = (line[0] + line[1] * ahead - tau) / np.maximum(np.abs(slope), 1e-9)
            missed = np.median(error * error, axis=1)[:, None]
            scale = self._tuning.noise**2 + 0.02 * abs(self._level - self._recent[-1]) ** 2
            self._skill = 0.7 * self._skill - 0.5 * np.minimum(missed / scale, 50.0)
        if float(self._count[-1, 0]) >= 3.0:
            level, rate, _ = self._lines()
            self._foretold = (minute, np.array([level, rate]))
            self._level = self._recent[-1]

    def _lines(self) -> tuple[Array, Array, Array]:
        """Level now, rate and variance of the rate, by memory and hypothesis; readings alone."""
        w, wt, wtt, wx, wtx, wxx = self._sums
        spread = np.maximum(wtt - wt * wt / w, 1e-300)
        rate = (wtx - wt * wx / w) / spread
        level = (wx - rate * wt) / w
        rest = np.maximum(wxx - wx * wx / w - rate * (wtx - wt * wx / w), 0.0)
        noise = self._tuning.noise**2 + rest / np.maximum(self._count - 2.0, 1.0) * 2.0
        return level, rate, noise / spread

    def arrival(self, target: float) -> Arrival | None:
        """When the curve meets ``target``, in minutes from the newest reading: an interval of 90 %, or none.

        Asked again before the next reading it costs nothing: target, cooling and limit all ask.
        """
        if target not in self._answers:
            self._answers[target] = (self._arrival(target), self.why_none, self.raw)
        arrival, self.why_none, self.raw = self._answers[target]
        return arrival

    def _arrival(self, target: float) -> Arrival | None:
        if self._begun is None or float(self._count[0, 0]) < min(self._tuning.fewest, 3) - 0.9:
            return self._nothing("too few readings")
        if self._last - self._begun < self._tuning.settle_min:
            return self._nothing("too few readings")
        b = self._bank
        level, rate, variance = self._lines()
        goal = self._tau(target)
        reaches = (target > b.lowest) & (target < b.highest)
        level, rate, variance = self._with_prior(level, rate, variance, goal)
        weights = self._weights()
        left = goal - level
        alive = reaches & (rate > 0.0) & (left > 0.0)
        sure = float((weights * alive).sum())
        if sure < 1.0 - self._tuning.never:
            return self._nothing("it levels off before" if sure > 0.0 else "it moves away")
        weights = np.where(alive, weights, 0.0) / sure
        log_wait = np.log(np.where(alive, left, 1.0) / np.where(alive, rate, 1.0))
        spread2 = np.minimum(np.where(alive, variance / np.maximum(rate * rate, 1e-300), 0.0), 4.0)
        middle = float((weights * log_wait).sum())
        between = float((weights * (log_wait - middle) ** 2).sum())
        within = float((weights * spread2).sum())
        return self._interval(middle, between + within)

    def _interval(self, middle: float, variance: float) -> Arrival | None:
        t = self._tuning
        spread = math.sqrt(variance + t.floor**2)
        assert self._begun is not None
        passed = self._last - self._begun
        self.raw = (middle, spread)
        low, mid, high = calibrated(t.way, passed / (passed + math.exp(middle)))
        if (high - low) * spread > _WIDEST:
            return self._nothing("too uncertain")
        likely, soonest, latest = (math.exp(middle + spread * q) for q in (mid, low, high))
        if latest > _LONGEST_MIN:
            return self._nothing("too far off")
        # Close to the end noise decides, not the rate.
        margin = 0.02 * t.memories[-1]
        self.why_none = ""
        return Arrival(max(0.0, soonest - margin), latest + margin, likely)

    def _with_prior(self, level: Array, rate: Array, variance: Array, goal: Array) -> tuple[Array, Array, Array]:
        """The recipe's minutes as one more observation of the rate."""
        prior, began = self._prior, self._tau(self._first)
        done = np.clip((level - began) / np.maximum(goal - began, 1e-9), 0.0, 1.0)
        variance = variance + (self._tuning.early * (1.0 - done) ** 2 * rate) ** 2
        if prior is None or prior.usual_min <= 0.0:
            return level, rate, variance
        whole = goal if self._target is None else self._tau(self._target)
        expected = (whole - began) / prior.usual_min
        spread = max(0.15, math.log(max(prior.longest_min, 1.0) / max(prior.shortest_min, 1.0)) / 2.5)
        of_prior = (spread * expected) ** 2
        share = np.where(expected > 0.0, variance / (variance + of_prior), 0.0)
        rate = rate + share * (expected - rate)
        return level, rate, np.where(expected > 0.0, variance * of_prior / (variance + of_prior), variance)

    def _tau(self, value: float) -> Array:
        """τ of one value under every hypothesis."""
        return _at(self._bank, np.minimum(np.maximum(value, self._bank.lowest), self._bank.highest))[0]

    def _weights(self) -> Array:
        """Chance of every memory and hypothesis."""
        w, wt, wtt, wx, wtx, wxx = self._sums
        spread = np.maximum(wtt - wt * wt / w, 1e-300)
        cross = wtx - wt * wx / w
        rest = np.maximum(wxx - wx * wx / w - cross * cross / spread, 0.0) + self._misfit
        noise2 = self._tuning.noise**2
        seen = np.maximum(self._count, 1.0)
        evidence = np.minimum(seen, _EVIDENCE)
        log_weight = self._bank.log_chance - 0.5 * evidence * np.log1p(rest / (seen * noise2)) + 0.5 * self._skill
        log_weight -= log_weight.max()
        weights: Array = np.exp(log_weight)
        return weights / float(weights.sum())

    def _nothing(self, why: str) -> Arrival | None:
        self.why_none = why
        return None


def _at(b: Bank, value: Array) -> tuple[Array, Array]:
    """τ and its slope of every hypothesis at its own value."""
    place = (value - b.low) / b.step
    cell = np.minimum(np.maximum(place.astype(np.intp), 0), b.last)
    columns = np.arange(b.tau.shape[1])
    left, right = b.tau[cell, columns], b.tau[cell + 1, columns]
    rise = right - left
    return left + rise * (place - cell), rise / b.step
