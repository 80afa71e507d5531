"""Keeping within temperatures: cold, hot and frozen holding, ageing; and being within them at the end, once.

In air a grace is given, for doors and defrosts; a defrost that comes by the clock is recognised as such. Air never
shows the food: a verdict on air is the air's.
"""

from dataclasses import dataclass
from typing import Literal

from orchestrator.thermal.defrost import Defrosts
from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Point, Verdict, lasting


@dataclass(frozen=True, slots=True)
class KeepBand:
    """What is asked."""

    name: str
    low: float | None = None
    high: float | None = None
    least_s: float = 0.0
    most_s: float | None = None

    def margin(self, degrees: float) -> float:
        """How far inside; below nought outside."""
        above = [] if self.low is None else [degrees - self.low]
        return min(above + ([] if self.high is None else [self.high - degrees]))


class KeepFold:
    """Follows one stay."""

    def __init__(
        self,
        band: KeepBand,
        gap_s: float,
        grace_s: float = 0.0,
        defrosts: Defrosts | None = None,
        *,
        shared: bool = False,
    ) -> None:
        """Every reading counts.

        Args:
            band: With a low, a high or both.
            gap_s: Between readings further apart nothing is known.
            grace_s: So long outside before it counts.
            defrosts: Of a freezer's air: rises that come by the clock, and are let pass.
            shared: Somebody else gives it the readings: it knows the freezer for longer than this stay.
        """
        self._band, self._gap_s, self._grace_s, self._defrosts = band, gap_s, grace_s, defrosts
        self._shared = shared
        self._first: Point | None = None
        self._last: Point | None = None
        self._worst: Point | None = None
        self._outside: list[Point] = []
        self._broken: Verdict | None = None
        self._gap: Point | None = None
        self._let_pass = False
        """Whether a defrost was outside for longer than the grace."""

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading; one that is not later than the last changes nothing."""
        if self._last is not None and second <= self._last[0]:
            return
        point = (second, degrees)
        if self._last is not None and lasting(self._last[0], second) > self._gap_s:
            self._gap = (self._last[0], second) if self._gap is None else self._gap
        if self._defrosts is not None and not self._shared:
            self._defrosts.fold(second, degrees)
        self._first = self._first or point
        if self._worst is None or self._band.margin(degrees) < self._band.margin(self._worst[1]):
            self._worst = point
        self._last = point
        self._count_outside(point)

    def _count_outside(self, point: Point) -> None:
        if self._band.margin(point[1]) >= 0.0:
            self._outside = []
            return
        # First and worst of the time outside, and the newest, are all that is told of it.
        first = self._outside[0] if self._outside else point
        worst = min([*self._outside, point], key=lambda one: self._band.margin(one[1]))
        self._outside = [first, worst, point]
        too_long = lasting(first[0], point[0]) > self._grace_s or not self._grace_s
        if too_long and self._is_defrost():
            self._let_pass = True
        elif too_long and self._broken is None:
            margin_min = (self._grace_s - lasting(first[0], point[0])) / 60.0
            readings = tuple(dict.fromkeys(self._outside))
            self._broken = Verdict(
                "broken", self._band.name, first[0], point[0], self._band.margin(worst[1]), margin_min, readings
            )

    def _is_defrost(self) -> bool:
        return self._defrosts is not None and self._defrosts.expected_now

    def waits(self, deadline_s: float | None) -> bool:
        """Nothing is waited for: what is asked is asked of every reading."""
        return False

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """What can be said at an instant; see `Fold`. "Met" means kept so far, and for the least time asked."""
        if self._broken is not None:
            return self._broken
        if self._first is None or self._last is None or self._worst is None:
            return Verdict("not judged", why="no readings")
        kept_s = lasting(self._first[0], self._last[0])
        margin = self._band.margin(self._worst[1])
        if self._band.most_s is not None and kept_s > self._band.most_s:
            over_min = (self._band.most_s - kept_s) / 60.0
            at_s = self._first[0] + self._band.most_s
            return Verdict("broken", self._band.name, self._first[0], at_s, margin, over_min, (self._first, self._last))
        gap = self._gap or ((self._last[0], now_s) if lasting(self._last[0], now_s) > self._gap_s else None)
        if gap is not None:
            found = (self._worst,)
            return Verdict("not judged", self._band.name, self._first[0], None, margin, None, found, gap, "gap")
        return self._kept(kept_s, margin, tuple(dict.fromkeys((self._worst, self._last))))

    def _kept(self, kept_s: float, margin: float, readings: tuple[Point, ...]) -> Verdict:
        assert self._first is not None
        least_s, since_s, name = self._band.least_s, self._first[0], self._band.name
        why: Literal["", "defrost"] = "defrost" if self._let_pass else ""
        short_min = None if not least_s else (kept_s - least_s) / 60.0
        if kept_s < least_s:
            return Verdict("not yet", name, since_s, None, margin, short_min, readings, None, why)
        met_s = since_s + least_s if least_s else None
        return Verdict("met", name, since_s, met_s, margin, short_min, readings, None, why)


class EndFold:
    """Follows what is to be within temperatures when it ends: the draw out of a churn, the core of a tub."""

    def __init__(self, band: KeepBand, gap_s: float) -> None:
        """The newest reading counts.

        Args:
            band: With a low, a high or both; its times are not looked at.
            gap_s: A reading older than this says nothing of now.
        """
        self._band, self._gap_s = band, gap_s
        self._last: Point | None = None
        self._since: Point | None = None

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading; one that is not later than the last changes nothing."""
        if self._last is not None and second <= self._last[0]:
            return
        self._last = (second, degrees)
        if self._band.margin(degrees) < 0.0:
            self._since = None
        elif self._since is None:
            self._since = self._last

    def waits(self, deadline_s: float | None) -> bool:
        """Whether what is said may depend on when the temperature is expected; see `Fold`."""
        return deadline_s is not None and self._last is not None and self._since is None

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """What can be said at an instant; see `Fold`."""
        if self._last is None:
            return Verdict("not judged", why="no readings")
        margin, name = self._band.margin(self._last[1]), self._band.name
        if lasting(self._last[0], now_s) > self._gap_s:
            return Verdict("not judged", name, None, None, margin, None, (self._last,), (self._last[0], now_s), "gap")
        if self._since is not None:
            readings = tuple(dict.fromkeys((self._since, self._last)))
            return Verdict("met", name, self._since[0], self._since[0], margin, None, readings)
        return self._not_inside(self._last, now_s, arrival, deadline_s)

    def _not_inside(self, last: Point, now_s: float, arrival: Arrival | None, deadline_s: float | None) -> Verdict:
        name, margin = self._band.name, self._band.margin(last[1])
        if self._band.low is not None and last[1] < self._band.low:
            return Verdict("broken", name, None, last[0], margin, None, (last,))
        if deadline_s is not None and now_s > deadline_s:
            return Verdict("broken", name, None, deadline_s, margin, None, (last,))
        if deadline_s is not None and arrival is not None:
            late_s = last[0] + arrival.soonest_min * 60.0 - deadline_s
            if late_s > 0.0:
                return Verdict("will not be met in time", name, None, None, margin, -late_s / 60.0, (last,))
        return Verdict("not yet", name, None, None, margin, None, (last,))
