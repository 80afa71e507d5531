"""The estimator: how fast a process's own clock runs, folded reading by reading."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from orchestrator.thermal.estimates.bank import Array, Bank
from orchestrator.thermal.estimates.calibration import calibrated
from orchestrator.thermal.estimates.sums import LONGEST_SPAN, FadingSums, Line
from orchestrator.thermal.health.signs import median
from orchestrator.thermal.trend import Arrival

TOO_FEW: Final = "too few readings"
_LONGEST_MIN = 48 * 60.0
_EVIDENCE = 12.0
"""Neighbouring residuals resemble each other: more readings than this weigh no more between hypotheses."""
_MOST_WAITING: Final = 64
"""Readings that are not added yet; so many are, whoever asks."""
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
    begins: float | None = None
    """The recipe's minutes may be meant from there on, where the first reading is beyond: nobody knows."""


@dataclass(frozen=True, slots=True)
class _Goal:
    tau: Array
    reaches: NDArray[np.bool_]
    """Which hypotheses can get there."""
    all_reach: bool
    per_way: Array
    """One over the way from the first reading to the target."""
    expected: Array | None
    """Rate by the recipe's minutes, if it has any, and its variance."""
    of_prior: Array | None


class Estimator:
    """Follows one process towards whatever is asked; a reading costs the same after a minute and after a week.

    For each hypothesis of the bank and each memory, the rate of its clock is a weighted straight line through the
    readings. The recipe's minutes are a first idea of the rate, and count less the more is seen. Hypotheses are
    weighed by how well they fit, memories by how well they foretold the readings that came after.

    A reading is only put down; sums, lines, weights and the wait are worked out when somebody asks, or after 64.
    """

    def __init__(self, bank: Bank, tuning: Tuning, prior: Prior | None = None, target: float | None = None) -> None:
        self._bank, self._tuning, self._prior, self._target = bank, tuning, prior, target
        memories, hypotheses = len(tuning.memories), bank.tau.shape[1]
        self._sums = FadingSums(tuning.memories, hypotheses)
        self._misfit = np.zeros(hypotheses)
        self._misfits = False
        """Whether any reading was outside of what a hypothesis can be asked."""
        self._skill = [0.0] * memories
        self._before = np.repeat(bank.log_chance[None, :], memories, axis=0)
        """Logarithm of each one's chance before it is asked how well it fits."""
        self._foretold: tuple[float, Array, Array] | None = None
        self._begun: float | None = None
        self._first = self._last = self._level = 0.0
        self._waiting: list[tuple[float, float]] = []
        self._added = 0.0
        """The instant of the last reading that was added."""
        self.why_none = TOO_FEW
        """Why the newest `arrival` was none; empty when there was one."""
        self.raw = (0.0, 0.0)
        """Logarithm of the wait and its spread before calibration, of the newest arrival."""
        self._now: tuple[Line, Array] | None = None
        self._goals: dict[float, _Goal] = {}
        self._answers: dict[float, tuple[Arrival | None, str, tuple[float, float]]] = {}

    def fold(self, minute: float, value: float) -> None:
        """Take one reading; ``minute`` must not decrease. It is put down here, and added when somebody asks."""
        if self._begun is None:
            self._begun, self._first, self._added = minute, value, minute
            self._sums.begin(minute)
        if self._answers:
            self._answers.clear()
        self._now, self._last = None, minute
        self._waiting.append((minute, value))
        if len(self._waiting) >= _MOST_WAITING:
            self._catch_up()

    def _catch_up(self) -> None:
        """Add what was put down: together where nothing but sums depends on it, else one by one."""
        together: list[tuple[float, float]] = []
        for minute, value in self._waiting:
            if self._stands_alone(minute, value, together[0][0] if together else minute):
                self._add_together(together)
                together = []
                self._add(minute, value)
            else:
                together.append((minute, value))
        self._add_together(together)
        self._waiting.clear()

    def _stands_alone(self, minute: float, value: float, first: float) -> bool:
        """Whether a forecast is due, the value lies where not every hypothesis can be asked, or it is long since."""
        quick, made = self._tuning.memories[-1], self._foretold
        if made is None or self._misfits or minute - made[0] >= 0.5 * quick or minute - first > LONGEST_SPAN * quick:
            return True
        return not self._bank.low_for_all <= value <= self._bank.high_for_all

    def _add_together(self, readings: list[tuple[float, float]]) -> None:
        if len(readings) <= 1:
            for minute, value in readings:
                self._add(minute, value)
            return
        both = np.array(readings)
        taus, weights = self._bank.at_many(both[:, 1])
        self._sums.add_many(both[:, 0], weights, taus)
        self._added = readings[-1][0]

    def _add(self, minute: float, value: float) -> None:
        b = self._bank
        passed, self._added = minute - self._added, minute
        tau, slope, weight = b.at(value)
        if self._misfits and passed > 0.0:
            self._misfit *= math.exp(-passed / self._tuning.memories[0])
        self._judge(minute, value, tau, slope)
        self._sums.add(minute, weight, tau)
        if not b.low_for_all <= value <= b.high_for_all:
            self._misfits = True
            self._misfit += (value - np.minimum(np.maximum(value, b.lowest), b.highest)) ** 2

    def _judge(self, minute: float, value: float, tau: Array, slope: Array) -> None:
        """How well each memory foretold this; every so often a new forecast is made."""
        if self._foretold is not None:
            since, level, rate = self._foretold
            ahead = minute - since
            if ahead < 0.5 * self._tuning.memories[-1]:
                return
            error = (level + rate * ahead - tau) / np.maximum(np.abs(slope), 1e-9)
            scale = self._tuning.noise**2 + 0.02 * abs(self._level - value) ** 2
            missed = (median(row) for row in (error * error).tolist())
            self._skill = [0.7 * s - 0.5 * min(m / scale, 50.0) for s, m in zip(self._skill, missed, strict=True)]
            self._before = self._bank.log_chance + 0.5 * np.array(self._skill)[:, None]
        if self._sums.counts(minute)[-1] >= 3.0:
            line = self._sums.line(minute)
            self._foretold, self._level = (minute, line.level, line.rate), value

    def arrival(self, target: float) -> Arrival | None:
        """When the curve meets ``target``, in minutes from the newest reading: an interval of 90 %, or none.

        Asked again before the next reading it costs nothing: target, cooling and limit all ask.
        """
        if target not in self._answers:
            self._answers[target] = (self._arrival(target), self.why_none, self.raw)
        arrival, self.why_none, self.raw = self._answers[target]
        return arrival

    def _arrival(self, target: float) -> Arrival | None:
        found = self.reckoned(target)
        return None if found is None else self.interval(*found)

    def reckoned(self, target: float) -> tuple[float, float] | None:
        """Logarithm of the wait in minutes and its spread before calibration; none for the reason in `why_none`."""
        self._catch_up()
        few = self._begun is None or self._sums.counts(self._last)[0] < min(self._tuning.fewest, 3) - 0.9
        if few or self._begun is None or self._last - self._begun < self._tuning.settle_min:
            self.why_none = TOO_FEW
            return None
        if self._now is None:
            line = self._sums.line(self._last)
            self._now = (line, self._weights(line))
        goal = self._goals.get(target)
        if goal is None:
            goal = self._goals[target] = self._goal(target)
        line, weights = self._now
        left = goal.tau - line.level
        rate, variance = self._with_prior(line, left, goal)
        if not goal.all_reach or left.min() <= 0.0 or rate.min() <= 0.0:
            alive = (rate > 0.0) & (left > 0.0) & goal.reaches
            sure = float((weights * alive).sum())
            if sure < 1.0 - self._tuning.never:
                self.why_none = "it levels off before" if sure > 0.0 else "it moves away"
                return None
            weights = np.where(alive, weights, 0.0) / sure
            left, rate = np.where(alive, left, 1.0), np.where(alive, rate, 1.0)
            variance = np.where(alive, variance, 0.0)
        middle, variance2 = _middle_and_variance(weights, left, rate, variance)
        return middle, math.sqrt(variance2 + self._tuning.floor**2)

    def interval(self, middle: float, spread: float, way: str = "") -> Arrival | None:
        """The interval of 90 % from the logarithm of a wait and its spread; none if it would tell nothing.

        Args:
            middle: Logarithm of minutes.
            spread: Of that.
            way: Whose calibration applies; empty for the one of the process.
        """
        passed = 0.0 if self._begun is None else self._last - self._begun
        self.raw = (middle, spread)
        # Close to the end noise decides, not the rate.
        margin = 0.02 * self._tuning.memories[-1]
        arrival, self.why_none = told(way or self._tuning.way, passed, middle, spread, margin)
        return arrival

    def _goal(self, target: float) -> _Goal:
        """What a target and the recipe's minutes mean under every hypothesis: the same for all readings of a step."""
        b, prior, began = self._bank, self._prior, self._tau(self._first)
        goal = self._tau(target)
        reaches = (target > b.lowest) & (target < b.highest)
        expected = of_prior = None
        if prior is not None and prior.usual_min > 0.0:
            expected, of_prior = self._by_recipe(
                prior, goal if self._target is None else self._tau(self._target), began
            )
        per_way = 1.0 / np.maximum(goal - began, 1e-9)
        return _Goal(goal, reaches, bool(reaches.all()), per_way, expected, of_prior)

    def _by_recipe(self, prior: Prior, whole: Array, began: Array) -> tuple[Array, Array]:
        """The rate by the recipe's minutes, and its variance, under every hypothesis."""
        expected = (whole - began) / prior.usual_min
        spread = max(0.15, math.log(max(prior.longest_min, 1.0) / max(prior.shortest_min, 1.0)) / 2.5)
        wide: Array = np.full(len(expected), spread)
        begins = self._tuning.begins
        if begins is not None and self._first > begins:
            # In the middle between both, and as wide as they are apart.
            longer = np.maximum((whole - self._tau(begins)) / np.maximum(whole - began, 1e-9), 1.0)
            expected = expected * np.sqrt(longer)
            wide = np.hypot(spread, 0.5 * np.log(longer))
        of_prior: Array = (wide * expected) ** 2
        if not (expected > 0.0).all():
            # Where the recipe says nothing its variance is without bounds.
            expected, of_prior = np.where(expected > 0.0, expected, 0.0), np.where(expected > 0.0, of_prior, 1e200)
        return expected, of_prior

    def _with_prior(self, line: Line, left: Array, goal: _Goal) -> tuple[Array, Array]:
        """Rate and its variance, with the recipe's minutes as one more observation."""
        rate = line.rate
        variance = line.rest * np.array([[2.0 / max(count - 2.0, 1.0)] for count in line.counts])
        variance += self._tuning.noise**2
        variance /= line.spread
        to_come = left * goal.per_way
        np.minimum(to_come, 1.0, out=to_come)
        np.maximum(to_come, 0.0, out=to_come)
        to_come *= to_come
        to_come *= rate
        to_come *= self._tuning.early
        to_come *= to_come
        variance += to_come
        if goal.expected is None or goal.of_prior is None:
            return rate, variance
        share = variance / (variance + goal.of_prior)
        changed = goal.expected - rate
        changed *= share
        changed += rate
        share *= goal.of_prior
        return changed, share

    def _tau(self, value: float) -> Array:
        """τ of one value under every hypothesis."""
        return self._bank.at(value)[0]

    def _weights(self, line: Line) -> Array:
        """Chance of every memory and hypothesis."""
        rest = line.rest + self._misfit if self._misfits else line.rest
        seen, noise2 = [max(count, 1.0) for count in line.counts], self._tuning.noise**2
        log_weight = rest * np.array([[1.0 / (many * noise2)] for many in seen])
        np.log1p(log_weight, out=log_weight)
        log_weight *= np.array([[-0.5 * min(many, _EVIDENCE)] for many in seen])
        log_weight += self._before
        log_weight -= log_weight.max()
        weights: Array = np.exp(log_weight, out=log_weight)
        weights /= weights.sum()
        return weights


def told(way: str, passed_min: float, middle: float, spread: float, margin_min: float) -> tuple[Arrival | None, str]:
    """The interval of 90 % as it is told, or none and why.

    Args:
        way: Whose calibration applies.
        passed_min: Of the process until now.
        middle: Logarithm of the wait in minutes.
        spread: Of that.
        margin_min: By so much it is wider at both ends.
    """
    low, mid, high = calibrated(way, passed_min / (passed_min + math.exp(middle)))
    if (high - low) * spread > _WIDEST:
        return None, "too uncertain"
    likely, soonest, latest = (math.exp(middle + spread * q) for q in (mid, low, high))
    if latest > _LONGEST_MIN:
        return None, "too far off"
    return Arrival(max(0.0, soonest - margin_min), latest + margin_min, likely), ""


def _middle_and_variance(weights: Array, left: Array, rate: Array, variance: Array) -> tuple[float, float]:
    """Of the logarithm of the wait: within each hypothesis and between them."""
    log_wait = np.log(left / rate)
    middle = float(np.vdot(weights, log_wait))
    spread2 = variance / np.maximum(rate * rate, 1e-300)
    np.minimum(spread2, 4.0, out=spread2)
    log_wait -= middle
    log_wait *= log_wait
    log_wait += spread2
    return middle, float(np.vdot(weights, log_wait))
