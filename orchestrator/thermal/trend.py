"""How fast a temperature changes, and when it will reach a target: a fold over readings.

The fold keeps a short tail of the curve, never all of it, so that a reading costs the same after a
minute and after a week. An estimate is an interval, and none is given where the curve does not
support one: too few readings, too much noise, or a curve that levels off before the target.
"""

import math
from collections import deque
from dataclasses import dataclass
from itertools import islice

_TAIL_MIN = 12.0
_SLOPE_MIN = 4.0
"""What a cook calls "now": a longer look back lags behind a pan that has just begun to simmer."""
_MOST_RECENT = 12
_MOST_POINTS = 48
_FEWEST_POINTS = 4
_SIGNIFICANT = 3.0
"""A slope is believed when it is this many standard errors away from nought."""
_LONGEST_MIN = 24 * 60.0


@dataclass(frozen=True, slots=True)
class Arrival:
    """In how many minutes a target is expected: from the soonest to the latest."""

    soonest_min: float
    latest_min: float
    likely_min: float | None = None
    """Middle of the interval in probability; none where only the ends are known."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line through readings."""

    level: float
    """Degrees in the middle of the readings."""
    slope: float
    """Degrees a minute."""
    error: float
    """Standard error of the slope, degrees a minute."""
    centre_min: float
    """Middle of the readings, minutes."""


def fit_line(points: list[tuple[float, float]]) -> Line | None:
    """Least squares through (minutes, degrees) pairs.

    Returns: None for fewer than three readings, or for readings of one instant.
    """
    count = len(points)
    if count < 3:
        return None
    t_mean = sum(t for t, _ in points) / count
    c_mean = sum(c for _, c in points) / count
    spread = sum((t - t_mean) ** 2 for t, _ in points)
    if spread <= 0.0:
        return None
    slope = sum((t - t_mean) * (c - c_mean) for t, c in points) / spread
    residual = sum((c - c_mean - slope * (t - t_mean)) ** 2 for t, c in points)
    error = math.sqrt(residual / (count - 2) / spread)
    return Line(c_mean, slope, error, t_mean)


class Trend:
    """The tail of one curve.

    A gap longer than the tail, or a jump of context (another batch on the same probe), begins anew.
    """

    def __init__(self) -> None:
        self._points: deque[tuple[float, float]] = deque(maxlen=_MOST_POINTS)

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; ``minute`` must not decrease."""
        points = self._points
        while points and minute - points[0][0] > _TAIL_MIN:
            points.popleft()
        points.append((minute, celsius))

    def clear(self) -> None:
        """Forget the curve so far."""
        self._points.clear()

    def slope_c_per_min(self) -> float | None:
        """Degrees a minute over the last minutes; None while it cannot be told."""
        points = self._points
        if len(points) < _FEWEST_POINTS:
            return None
        # About the newest: nothing is lost by that, and one pass is enough.
        newest, c_newest = points[-1]
        count, t_sum, c_sum, tt, tc = 0, 0.0, 0.0, 0.0, 0.0
        for minute, celsius in islice(reversed(points), _MOST_RECENT):
            t, c = minute - newest, celsius - c_newest
            if t < -_SLOPE_MIN:
                break
            count, t_sum, c_sum, tt, tc = count + 1, t_sum + t, c_sum + c, tt + t * t, tc + t * c
        spread = tt - t_sum * t_sum / max(count, 1)
        return (tc - t_sum * c_sum / count) / spread if count >= _FEWEST_POINTS and spread > 0.0 else None

    def arrival(self, target_c: float) -> Arrival | None:
        """When the curve meets ``target_c``, in minutes from the newest reading.

        Two ways of going on bound the interval: straight ahead at the present slope, and bending as
        the tail bends (an approach to some final temperature, whatever that is: Newton's law says so
        for a stirred bath, and a pan on a hob loses more as it gets hotter).
        """
        points = list(self._points)
        # A curve that has just begun has no older half yet: it is taken as straight, from its newest readings.
        half = len(points) // 2 if len(points) >= 2 * _FEWEST_POINTS else max(0, len(points) - _FEWEST_POINTS)
        older, newer = fit_line(points[:half]), fit_line(points[half:])
        if newer is None or len(points) < _FEWEST_POINTS or abs(newer.slope) <= _SIGNIFICANT * newer.error:
            return None
        since_centre = points[-1][0] - newer.centre_min
        waits = []
        for slope in (newer.slope - 2 * newer.error, newer.slope, newer.slope + 2 * newer.error):
            for rate in (0.0, 0.0 if older is None else _bend_per_min(older, newer)):
                wait = _minutes_to(target_c - newer.level, slope, rate)
                if wait is None:
                    return None
                waits.append(wait - since_centre)
        if min(waits) <= 0.0 or max(waits) > _LONGEST_MIN:
            return None
        return Arrival(min(waits), max(waits))


def _bend_per_min(older: Line, newer: Line) -> float:
    """Rate at which the slope dies away between two halves of the tail; 0 when it does not."""
    if older.slope * newer.slope <= 0.0 or abs(older.slope) <= abs(newer.slope):
        return 0.0
    return math.log(older.slope / newer.slope) / (newer.centre_min - older.centre_min)


def _minutes_to(distance: float, slope: float, rate: float) -> float | None:
    """Solve distance = slope / rate · (1 − e^(−rate·t)) for t; None when the curve levels off before."""
    if slope * distance <= 0.0:
        return None
    if rate <= 1e-9:
        return distance / slope
    left = 1.0 - rate * distance / slope
    return None if left <= 0.0 else -math.log(left) / rate
