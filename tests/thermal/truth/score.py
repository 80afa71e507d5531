"""Estimates against the truth: coverage, width and error, beside a naive straight line in the same run."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from orchestrator.thermal.estimates import (
    ByWeights,
    Estimator,
    Prior,
    Recalled,
    choose,
    choose_weight,
    recall,
    takes_longer,
    usual,
    usual_way,
)
from tests.thermal.truth.curves import WEIGHED, Curve

_LINE_MIN = 12.0
LINES = ("last 12 min", "all so far", "first to last")
"""Naive straight lines: least squares through the readings of the last minutes, or through all of them, and the chord
from the first reading to the last. Weights are few: for them the first of these goes through all."""


@dataclass
class Score:
    """What came of one kind of curve, each asked once."""

    said: int = 0
    none: int = 0
    covered: int = 0
    widths: list[float] = field(default_factory=list)
    errors: list[float] = field(default_factory=list)
    beside: dict[str, list[tuple[float, float]]] = field(default_factory=lambda: {name: [] for name in LINES})
    """Errors of ours and of each line, where both said something."""
    logs: list[float] = field(default_factory=list)
    reasons: dict[str, int] = field(default_factory=dict)

    @property
    def coverage(self) -> float:
        """Share of the intervals that held the truth."""
        return self.covered / max(self.said, 1)

    @property
    def ratios(self) -> tuple[float, ...]:
        """Mean absolute error, ours over that of each line."""
        both = (np.mean(pairs, axis=0) for pairs in self.beside.values())
        return tuple(float(ours / line) for ours, line in both)

    @property
    def ratio(self) -> float:
        """The same over the best of the lines."""
        return max(self.ratios)

    def row(self, name: str) -> str:
        """One line of the table."""
        lines = (
            f"{ratio:>10.2f}{np.mean([line for _, line in pairs]):>7.1f}{len(self.errors) - len(pairs):>5}"
            for ratio, pairs in zip(self.ratios, self.beside.values(), strict=True)
        )
        return (
            f"{name:22}{self.said:>6}{self.none:>6}{self.coverage:>9.3f}{np.mean(self.widths):>8.2f}"
            f"{np.mean(self.errors):>9.1f}{''.join(lines)}"
        )


HEAD = f"{'kind':22}{'said':>6}{'none':>6}{'covered':>9}{'width':>8}{'MAE/min':>9}" + "".join(
    f"{'/ ' + name:>17}{'none':>5}" for name in LINES
)


def followed(curve: Curve) -> Estimator | Recalled | ByWeights:
    """The estimator that has seen the curve until it is asked."""
    prior = Prior(curve.shortest_min, curve.usual_min, curve.longest_min)
    estimator: Estimator | Recalled | ByWeights
    if curve.kind in WEIGHED:
        estimator = choose_weight(curve.kind, target=curve.target, prior=prior)
        way = usual_way([(w, takes_longer(curve.kind, scale)) for w, scale in curve.weighed], curve.target)
        if way is not None:
            estimator = ByWeights(curve.kind, way, curve.scale)
    else:
        process = {"hob": "cook", "ice bath": "chill", "fridge": "chill"}.get(curve.kind, curve.kind)
        falls = curve.kind not in ("hob", "temper")
        estimator = plain = choose(process, falls=falls, target=curve.target, place=curve.kind, prior=prior)
        known = usual(curve.earlier)
        if known is not None:
            estimator = recall(plain, known, scale=curve.scale, target=curve.target)
    for minute, value in zip(curve.minutes.tolist(), curve.values.tolist(), strict=True):
        estimator.fold(minute, value)
    return estimator


def score(given: Iterable[Curve]) -> Score:
    """Ask each curve once and add up."""
    total = Score()
    for curve in given:
        estimator = followed(curve)
        arrival = estimator.arrival(curve.target)
        if arrival is None or not len(curve.minutes):
            total.none += 1
            total.reasons[estimator.why_none] = total.reasons.get(estimator.why_none, 0) + 1
            continue
        left = curve.truth_min - float(curve.minutes[-1])
        total.said += 1
        total.covered += arrival.soonest_min <= left <= arrival.latest_min
        if not np.isfinite(left):
            continue  # said that it would come, and it did not: counted as not covered
        assert arrival.likely_min is not None
        total.logs.append(float(np.log(max(left, 0.1) / max(arrival.likely_min, 0.1))))
        total.widths.append((arrival.latest_min - arrival.soonest_min) / max(left, 1.0))
        total.errors.append(abs(arrival.likely_min - left))
        for name, line in naive_lines(curve).items():
            if line is not None:
                total.beside[name].append((total.errors[-1], abs(line - left)))
    return total


def naive_lines(curve: Curve) -> dict[str, float | None]:
    """Minutes from the last reading by each of `LINES`; none where a line never gets there."""
    minutes, values = curve.minutes, curve.values
    recent = minutes >= (0.0 if curve.kind in WEIGHED else minutes[-1] - _LINE_MIN)
    cuts = (recent, np.ones(len(minutes), dtype=bool), [0, -1])
    return {name: _line(minutes[cut], values[cut], curve.target) for name, cut in zip(LINES, cuts, strict=True)}


def _line(minutes: np.ndarray, values: np.ndarray, target: float) -> float | None:
    """Least squares, straight on to the target: minutes from the last reading, at most two days; none if never."""
    if len(minutes) < 2 or minutes[-1] == minutes[0]:
        return None
    slope, level = np.polyfit(minutes - minutes[-1], values, 1)
    wait = (target - level) / slope if slope else -1.0
    return min(float(wait), 2880.0) if wait > 0 else None
