"""Cooling down to temperatures, each within its time from one start.

Between two readings the food is taken to cool along a straight line; through a gap nothing is known, and what falls
into one counts as late as it can be for "met" and as early as it can be for "broken".
"""

from dataclasses import dataclass

from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import LegReached, Point, Verdict, lasting


@dataclass(frozen=True, slots=True)
class Leg:
    """So cold within so long."""

    name: str
    degrees: float
    within_s: float


@dataclass(frozen=True, slots=True)
class _Crossing:
    """When a temperature was passed: the earliest and the latest that it can have been."""

    earliest_s: float
    latest_s: float
    before: Point
    after: Point


class CoolFold:
    """Follows one cooling."""

    def __init__(self, legs: tuple[Leg, ...], gap_s: float, began_s: float, begins: float | None = None) -> None:
        """All legs count.

        Args:
            legs: From warm to cold.
            gap_s: Between readings further apart nothing is known.
            began_s: When the step began; food first seen below ``begins`` counts from then, to be on the safe side.
            begins: The clock starts as the food passes this; None: it starts with the step.
        """
        self._legs, self._gap_s, self._began_s, self._begins = legs, gap_s, began_s, begins
        self._start: tuple[float, float] | None = (began_s, began_s) if begins is None else None
        self._reached: dict[str, _Crossing] = {}
        self._broken: Verdict | None = None
        self._last: Point | None = None

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading; one that is not later than the last changes nothing."""
        if self._last is not None and second <= self._last[0]:
            return
        point = (second, degrees)
        self._settle(point)
        if self._begins is not None and degrees > self._begins:
            # Hot again: what counts is the cooling from here on. What was broken by then stays so.
            self._start, self._reached = None, {}
        elif self._start is None and self._begins is not None:
            if self._last is not None and self._last[1] > self._begins:
                passed = self._crossing(self._begins, self._last, point)
                self._start = (passed.earliest_s, passed.latest_s)
            else:
                began = min(self._began_s, second)
                self._start = (began, began)
        if self._start is not None:
            self._reach(point)
        self._last = point

    def _reach(self, point: Point) -> None:
        for leg in self._legs:
            if leg.name in self._reached or point[1] > leg.degrees:
                continue
            if self._last is None and lasting(self._began_s, point[0]) > self._gap_s:
                # First seen this cold long after the start: it was so at the latest now, and since when nobody saw.
                unseen = (self._began_s, point[1])
                self._reached[leg.name] = _Crossing(self._began_s, point[0], unseen, point)
                continue
            warm_before = self._last is not None and self._last[1] > leg.degrees
            before = self._last if warm_before and self._last is not None else point
            self._reached[leg.name] = self._crossing(leg.degrees, before, point)

    def _settle(self, point: Point) -> None:
        """Note what this reading proves broken: a leg not reached though its time had passed for certain."""
        if self._broken is not None or self._start is None or self._last is None:
            return
        for leg in self._legs:
            limit_s = self._start[1] + leg.within_s
            if leg.name in self._reached or lasting(limit_s, point[0]) <= 0.0:
                continue
            crossed = point[1] <= leg.degrees
            earliest_s = self._crossing(leg.degrees, self._last, point).earliest_s if crossed else point[0]
            if lasting(limit_s, earliest_s) > 0.0:
                self._broken = self._late(leg, limit_s, earliest_s, point)
                return

    def _late(self, leg: Leg, limit_s: float, at_s: float, point: Point) -> Verdict:
        assert self._start is not None
        readings = (point,) if self._last is None else (self._last, point)
        return Verdict(
            "broken",
            leg.name,
            self._start[1],
            limit_s,
            leg.degrees - point[1],
            -lasting(limit_s, at_s) / 60.0,
            readings,
        )

    def _crossing(self, level: float, before: Point, after: Point) -> _Crossing:
        if before == after or after[1] == level:
            earliest = before[0] if lasting(before[0], after[0]) > self._gap_s else after[0]
            return _Crossing(earliest, after[0], before, after)
        if lasting(before[0], after[0]) > self._gap_s:
            return _Crossing(before[0], after[0], before, after)
        passed = before[0] + (before[1] - level) / (before[1] - after[1]) * (after[0] - before[0])
        return _Crossing(passed, passed, before, after)

    def next_degrees(self) -> float:
        """What it has to reach next; the last leg's once all are reached."""
        return next((leg.degrees for leg in self._legs if leg.name not in self._reached), self._legs[-1].degrees)

    def waits(self, deadline_s: float | None) -> bool:
        """Whether what is said may depend on when the temperature is expected; see `Fold`."""
        open_leg = any(leg.name not in self._reached for leg in self._legs)
        return self._broken is None and self._start is not None and open_leg

    def plainly_open(self, now_s: float, arrival: Arrival | None) -> bool:
        """Whether `verdict` is "not yet" without a closer look: no leg's time is up, none was reached late or unseen,
        and the next is expected in time. Asked with every reading; where it says no, `verdict` decides."""
        last, start = self._last, self._start
        if self._broken is not None or last is None:
            return False
        if start is None:
            return True
        waited = False
        for leg in self._legs:
            limit_s, passed = start[0] + leg.within_s, self._reached.get(leg.name)
            if passed is not None:
                if passed.latest_s > limit_s:
                    return False
                continue
            if now_s > limit_s:
                return False
            if not waited and arrival is not None and last[0] + arrival.soonest_min * 60.0 > limit_s:
                return False
            waited = True
        return waited

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """What can be said at an instant; see `Fold`. ``arrival`` is that at `next_degrees`."""
        said = self._said(now_s, arrival)
        return said._replace(legs=self._legs_reached(self._start)) if self._start and self._reached else said

    def _legs_reached(self, start: tuple[float, float]) -> tuple[LegReached, ...]:
        """What is known of each leg; of one that was reached in a gap and may have been late, nothing is."""
        reached = [(leg, self._reached[leg.name]) for leg in self._legs if leg.name in self._reached]
        return tuple(
            LegReached(leg.degrees, passed.latest_s, start[0] + leg.within_s)
            for leg, passed in reached
            if passed.latest_s <= start[0] + leg.within_s or passed.earliest_s >= start[1] + leg.within_s
        )

    def _said(self, now_s: float, arrival: Arrival | None) -> Verdict:
        if self._broken is not None:
            return self._broken
        if self._last is None:
            return Verdict("not judged", why="no readings")
        if self._start is None:
            return Verdict("not yet", self._legs[0].name, readings=(self._last,))
        judged = [self._leg(leg, now_s, arrival, self._start) for leg in self._legs]
        for status in ("broken", "not judged", "will not be met in time", "not yet"):
            found = next((said for said in judged if said.status == status), None)
            if found is not None:
                return found
        return min(judged, key=lambda said: said.margin_min if said.margin_min is not None else 0.0)

    def _leg(self, leg: Leg, now_s: float, arrival: Arrival | None, start: tuple[float, float]) -> Verdict:
        passed = self._reached.get(leg.name)
        return self._passed(leg, passed, start) if passed is not None else self._open(leg, now_s, arrival, start)

    def _passed(self, leg: Leg, passed: _Crossing, start: tuple[float, float]) -> Verdict:
        latest_limit_s, limit_s = start[1] + leg.within_s, start[0] + leg.within_s
        left_s = lasting(passed.latest_s, limit_s)
        seen_before = passed.before[1] > leg.degrees
        readings = (passed.before, passed.after) if seen_before else (passed.after,)
        degrees = leg.degrees - passed.after[1]
        if left_s >= 0.0:
            return Verdict("met", leg.name, start[0], passed.latest_s, degrees, left_s / 60.0, readings)
        if lasting(latest_limit_s, passed.earliest_s) >= 0.0:  # at the earliest it was seen still warm
            return Verdict("broken", leg.name, start[1], latest_limit_s, degrees, left_s / 60.0, readings)
        gap = (passed.before[0], passed.after[0])
        return Verdict("not judged", leg.name, start[0], readings=readings, gap=gap, why="gap")

    def _open(self, leg: Leg, now_s: float, arrival: Arrival | None, start: tuple[float, float]) -> Verdict:
        assert self._last is not None
        latest_limit_s, limit_s = start[1] + leg.within_s, start[0] + leg.within_s
        degrees, readings = leg.degrees - self._last[1], (self._last,)
        if lasting(latest_limit_s, now_s) > 0.0:
            unseen = lasting(self._last[0], now_s) > self._gap_s and lasting(self._last[0], latest_limit_s) > 0.0
            if unseen:
                gap = (self._last[0], now_s)
                return Verdict("not judged", leg.name, start[0], readings=readings, gap=gap, why="gap")
            left_min = lasting(now_s, latest_limit_s) / 60.0
            return Verdict("broken", leg.name, start[1], latest_limit_s, degrees, left_min, readings)
        if arrival is not None and leg.degrees == self.next_degrees():
            late_s = lasting(limit_s, self._last[0] + arrival.soonest_min * 60.0)
            if late_s > 0.0:
                return Verdict("will not be met in time", leg.name, start[0], None, degrees, -late_s / 60.0, readings)
        return Verdict("not yet", leg.name, start[0], None, degrees, lasting(now_s, limit_s) / 60.0, readings)
