"""Defrosts of a freezer: short rises of its air that come by the clock.

A freezer heats its coil for some minutes a few times a day. The air warms, the food hardly does. A rise of the air is
a defrost only if all of this holds; the figures below are common practice, no source:

- it comes when one is due: three that came at even distances say when, and the more even they came the narrower;
- there is one a turn: a second rise in the same turn is none;
- it is over by itself as soon as the earlier ones were: half as long again and five minutes at most, and never longer
  than 45 minutes. One that lasts longer counts from its beginning;
- a probe in the food does not follow it.

Everything else is trouble, a short failure of the cold too. One that begins just when a defrost is due and is over as
soon cannot be told from it, by anybody. Doors make short rises in between: those neither count nor disturb.

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
"""How far, as a share of the period, three may be from even: a timer that counts the hours of the compressor is not
even by the clock."""
OFF_TIME_S: Final = 20 * 60.0
"""How far one may come off its time, or by twice as much as the three were uneven, where that is more."""
LONGER: Final = (1.5, 5 * 60.0)
"""How much longer than the earlier ones one may last: ice grows on the coil."""
_KEPT: Final = 8
"""Rises among which three even ones are looked for: somebody may stand in the door now and then."""
FOLLOWED: Final = 1.0
"""Degrees that food may warm meanwhile without being said to follow."""
OFF_CLOCK: Final = 0.1
"""How far, as a share of the period, one may come off its time where the period is known; 20 minutes at most."""
HOUR_UNKNOWN: Final = 3
"""After so many rises, no two of them at the known distance, what is known of the clock is not believed any more."""


@dataclass(frozen=True, slots=True)
class _Due:
    """What three even rises say of the next."""

    last_s: float
    period_s: float
    off_s: float
    """How far it may come off its time."""
    longest_s: float

    def fits(self, since_s: float) -> bool:
        """Whether one that began then was due."""
        return abs(since_s - self.last_s - self.period_s) <= self.off_s


@dataclass(frozen=True, slots=True)
class Clock:
    """What a freezer's manual says of its defrosts."""

    every_s: float
    longest_s: float
    """From when the air leaves its usual temperatures until it is back."""

    def fits(self, distance_s: float) -> bool:
        """Whether two defrosts can lie so far apart: one after the other, or with one between them that nobody saw."""
        off_s = min(OFF_CLOCK * self.every_s, OFF_TIME_S)
        return any(abs(distance_s - times * self.every_s) <= off_s for times in (1, 2))


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
        self._lasted: dict[float, float] = {}
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
                self._lasted[self._rising_since] = lasted_s
                self._lasted = {start: self._lasted[start] for start in self._starts}
            self._rising_since, self._food = None, None

    def fold_food(self, degrees: float) -> None:
        """Take one reading of a probe in the food."""
        if self._food is None or self._rising_since is None:
            self._food = (degrees, degrees)
        else:
            self._food = (self._food[0], max(self._food[1], degrees))

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
        return next((due.period_s for due in found if due is not None), None)

    def _even_before(self, last: float) -> _Due | None:
        """What three rises that end with this one say of the next, shortest first; none if they are not even."""
        earlier = [start for start in self._starts if start <= last - SOONEST_AGAIN_S]
        for middle in reversed(earlier):
            for first in reversed([start for start in earlier if start <= middle - SOONEST_AGAIN_S]):
                mean = (last - first) / 2.0
                uneven = abs(last - middle - mean)
                if uneven <= UNEVEN * mean:
                    off = min(max(OFF_TIME_S, 2.0 * uneven), UNEVEN * mean)
                    lasted = max(self._lasted[start] for start in (first, middle, last))
                    return _Due(last, mean, off, min(LONGER[0] * lasted + LONGER[1], self._longest_s))
        return None

    @property
    def expected_now(self) -> bool:
        """Whether the rise that goes on is one that was due, no longer than one lasts, and not followed by the food."""
        if self._rising_since is None or self._followed or self._now_s - self._rising_since > self._longest_s:
            return False
        since, lasts = self._rising_since, self._now_s - self._rising_since
        if self._clock is not None and self._due_by(self._clock, since):
            return True
        found = (self._even_before(last) for last in reversed(self._starts))
        return any(
            due.fits(since) and lasts <= due.longest_s and not self._turn_taken(due.last_s + due.period_s, due.off_s)
            for due in found
            if due is not None
        )

    def _turn_taken(self, at_s: float, off_s: float) -> bool:
        """Whether one has come in a turn already; a rise of less than half the longest is a door's."""
        least_s = max(self._lasted.values(), default=0.0) / 2.0
        return any(abs(start - at_s) <= off_s and self._lasted[start] >= least_s for start in self._starts)

    def _due_by(self, clock: Clock, since: float) -> bool:
        """Whether a rise that began then is due by the clock, or nobody can know yet that it is not."""
        lately = [start for start in self._starts if since - start <= 3.0 * clock.every_s]
        on_clock = {s for n, a in enumerate(lately) for b in lately[n + 1 :] if clock.fits(b - a) for s in (a, b)}
        if not on_clock:
            return len(lately) < HOUR_UNKNOWN
        if self._turn_taken(since, SOONEST_AGAIN_S):
            return False
        return any(clock.fits(since - start) for start in on_clock)
