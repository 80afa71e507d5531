"""Defrosts of a freezer: short rises of its air that come by the clock.

A freezer heats its coil for some minutes a few times a day. The air warms, the food hardly does. Three rises at even
distances are taken for it; the figures below are common practice, no source. A rise that lasts longer, comes at another
time, or that a probe in the food follows, is none. Doors make short rises in between: those neither count nor disturb.

Where the machine's own clock is known, two rises at its distance are enough, and until those have been seen a rise no
longer than a defrost lasts is taken for one: nobody knows at which hour it begins. One that lasts longer counts from
its beginning all the same.
"""

from collections import deque
from dataclasses import dataclass
from typing import Final

SHORTEST_S: Final = 6 * 60.0
"""A rise over sooner is a door's: three of those at even distances are chance."""
LONGEST_S: Final = 45 * 60.0
"""A defrost that lasts longer is trouble."""
SOONEST_AGAIN_S: Final = 2 * 3600.0
"""More often than this, it is the door."""
UNEVEN: Final = 0.15
"""How far, as a share of the period, one may come off its time."""
_KEPT: Final = 8
"""Rises among which three even ones are looked for: somebody may stand in the door now and then."""
FOLLOWED: Final = 1.0
"""Degrees that food may warm meanwhile without being said to follow."""
OFF_CLOCK: Final = 0.1
"""The same as `UNEVEN`, where the period is known."""
HOUR_UNKNOWN: Final = 3
"""After so many rises, no two of them at the known distance, what is known of the clock is not believed any more."""


@dataclass(frozen=True, slots=True)
class Clock:
    """What a freezer's manual says of its defrosts."""

    every_s: float
    longest_s: float
    """From when the air leaves its usual temperatures until it is back."""

    def fits(self, distance_s: float) -> bool:
        """Whether two defrosts can lie so far apart: one after the other, or with one between them that nobody saw."""
        return any(abs(distance_s - times * self.every_s) <= OFF_CLOCK * self.every_s for times in (1, 2))


class Defrosts:
    """Follows the air of one freezer."""

    def __init__(self, usual: float, clock: Clock | None = None) -> None:
        """No rise is known yet.

        Args:
            usual: Degrees that the air is at or below when nothing is wrong; a rise is a time above it.
            clock: What the machine's manual says, if anybody has entered it.
        """
        self._usual, self._clock = usual, clock
        self._longest_s = LONGEST_S if clock is None else clock.longest_s
        self._starts: deque[float] = deque(maxlen=_KEPT)
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
            lasted_s = second - self._rising_since
            if lasted_s > self._longest_s or self._followed:
                if self._clock is None:  # else its clock goes on, whatever happened
                    self._starts.clear()
            elif lasted_s >= SHORTEST_S:
                self._starts.append(self._rising_since)
            self._rising_since, self._food = None, None

    def fold_food(self, degrees: float) -> None:
        """Take one reading of a probe in the food."""
        at_start = degrees if self._food is None or self._rising_since is None else self._food[0]
        self._food = (at_start, degrees if self._food is None else max(self._food[1], degrees))

    @property
    def rising_since_s(self) -> float | None:
        """When the rise that goes on began."""
        return self._rising_since

    @property
    def _followed(self) -> bool:
        return self._food is not None and self._food[1] - self._food[0] > FOLLOWED

    @property
    def period_s(self) -> float | None:
        """How far apart they come, once three came at even distances: of the newest such three."""
        found = (self._even_before(last) for last in reversed(self._starts))
        return next((period for period in found if period is not None), None)

    def _even_before(self, last: float) -> float | None:
        """The mean distance of three rises that end with this one, shortest first; none if they are not even."""
        earlier = [start for start in self._starts if start <= last - SOONEST_AGAIN_S]
        for middle in reversed(earlier):
            for first in reversed([start for start in earlier if start <= middle - SOONEST_AGAIN_S]):
                mean = (last - first) / 2.0
                if abs(last - middle - mean) <= UNEVEN * mean:
                    return mean
        return None

    @property
    def expected_now(self) -> bool:
        """Whether the rise that goes on is one that was due, no longer than one lasts, and not followed by the food."""
        if self._rising_since is None or self._followed or self._now_s - self._rising_since > self._longest_s:
            return False
        since = self._rising_since
        if self._clock is not None and self._due_by(self._clock, since):
            return True
        for last in reversed(self._starts):
            period = self._even_before(last)
            if period is not None and abs(since - last - period) <= UNEVEN * period:
                return True
        return False

    def _due_by(self, clock: Clock, since: float) -> bool:
        """Whether a rise that began then is due by the clock, or nobody can know yet that it is not."""
        lately = [start for start in self._starts if since - start <= 3.0 * clock.every_s]
        on_clock = {s for n, a in enumerate(lately) for b in lately[n + 1 :] if clock.fits(b - a) for s in (a, b)}
        if not on_clock:
            return len(lately) < HOUR_UNKNOWN
        return any(clock.fits(since - start) for start in on_clock)
