"""Drift: how the difference to a reference, or to neighbours in the same air, moves away from what it was at first."""

from collections import deque
from typing import Final

from orchestrator.thermal.health.signs import Finding, Latch, Sign, median

BUCKET_S: Final = 1800.0
FIRST: Final = 8
LAST: Final = 6
"""Half hours: four hours say what the difference was, three what it is. Doors and defrosts last for less than half."""
DRIFT_ON_C: Final = 1.0
"""A food thermometer must be good to 1 °C. Source: FDA Food Code 2022, 4-203.11."""
DRIFT_OFF_C: Final = 0.6


class Drift:
    """Follows one difference; keeps fourteen means of half hours."""

    def __init__(self) -> None:
        self.restart()

    def restart(self) -> None:
        """Begin anew: the probe was checked, moved, or given an offset."""
        self._first: list[float] = []
        self._last: deque[float] = deque(maxlen=LAST)
        self._sum, self._count, self._bucket = 0.0, 0, None
        self._began_s = 0.0
        self._latch = Latch(2, 2)

    _bucket: int | None

    def fold(self, second: float, difference_c: float) -> None:
        """Take the difference to the reference at one instant; instants must not decrease."""
        bucket = int(second // BUCKET_S)
        if self._bucket is None:
            self._bucket, self._began_s = bucket, second
        if bucket != self._bucket:
            self._close(second)
            self._bucket = bucket
        self._sum += difference_c
        self._count += 1

    def _close(self, second: float) -> None:
        mean = self._sum / self._count
        self._sum, self._count = 0.0, 0
        if len(self._first) < FIRST:
            self._first.append(mean)
            return
        self._last.append(mean)
        moved = self.moved_c
        if moved is not None:
            far = abs(moved)
            self._latch.fold(second, True if far >= DRIFT_ON_C else False if far < DRIFT_OFF_C else None)

    @property
    def has_baseline(self) -> bool:
        """Whether it is known what the difference was at first."""
        return len(self._first) >= FIRST

    @property
    def moved_c(self) -> float | None:
        """By how much it has moved; none before both ends are known."""
        if len(self._last) < LAST:
            return None
        return median(list(self._last)) - median(self._first)

    @property
    def found(self) -> bool:
        """Whether it drifts."""
        return self._latch.on

    def finding(self, other: str = "", hint: str = "") -> Finding | None:
        """That it drifts, since it was last known to be well; none when it does not."""
        if not self._latch.on or self.moved_c is None:
            return None
        return Finding(Sign.DRIFTING, self._began_s, self.moved_c, DRIFT_ON_C, "degrees", hint, other)
