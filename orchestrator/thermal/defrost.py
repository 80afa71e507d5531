"""Defrosts of a freezer: short rises of its air that come by the clock.

A freezer heats its coil for some minutes a few times a day. The air warms, the food hardly does. Three rises at even
distances are taken for it; the figures below are common practice, no source. A rise that lasts longer, comes at another
time, or that a probe in the food follows, is none.
"""

from collections import deque
from itertools import pairwise
from typing import Final

LONGEST_S: Final = 45 * 60.0
"""A defrost that lasts longer is trouble."""
SOONEST_AGAIN_S: Final = 2 * 3600.0
"""More often than this, it is the door."""
UNEVEN: Final = 0.15
"""How far, as a share of the period, one may come off its time."""
_KNOWN: Final = 3
FOLLOWED: Final = 1.0
"""Degrees that food may warm meanwhile without being said to follow."""


class Defrosts:
    """Follows the air of one freezer."""

    def __init__(self, usual: float) -> None:
        """No rise is known yet.

        Args:
            usual: Degrees that the air is at or below when nothing is wrong; a rise is a time above it.
        """
        self._usual = usual
        self._starts: deque[float] = deque(maxlen=_KNOWN)
        self._rising_since: float | None = None
        self._now_s = 0.0
        self._food: tuple[float, float] | None = None
        """Of the food: at the start of the rise, and warmest since."""

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading of the air."""
        self._now_s = second
        if degrees > self._usual:
            if self._rising_since is None:
                self._rising_since = second
            return
        if self._rising_since is not None:
            if second - self._rising_since <= LONGEST_S and not self._followed:
                self._starts.append(self._rising_since)
            else:
                self._starts.clear()
            self._rising_since, self._food = None, None

    def fold_food(self, degrees: float) -> None:
        """Take one reading of a probe in the food."""
        at_start = degrees if self._food is None or self._rising_since is None else self._food[0]
        self._food = (at_start, degrees if self._food is None else max(self._food[1], degrees))

    @property
    def _followed(self) -> bool:
        return self._food is not None and self._food[1] - self._food[0] > FOLLOWED

    @property
    def period_s(self) -> float | None:
        """How far apart they come, once three came at even distances."""
        if len(self._starts) < _KNOWN:
            return None
        starts = list(self._starts)
        steps = [later - earlier for earlier, later in pairwise(starts)]
        mean = sum(steps) / len(steps)
        even = all(abs(step - mean) <= UNEVEN * mean for step in steps)
        return mean if even and mean >= SOONEST_AGAIN_S else None

    @property
    def expected_now(self) -> bool:
        """Whether the rise that goes on is one that was due, no longer than one lasts, and not followed by the food."""
        period = self.period_s
        if period is None or self._rising_since is None or self._followed:
            return False
        due = abs(self._rising_since - self._starts[-1] - period) <= UNEVEN * period
        return due and self._now_s - self._rising_since <= LONGEST_S
