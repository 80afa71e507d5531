"""Heating to a row's temperature for a row's time: any row is enough, and nothing above a ceiling.

A hold counts from reading to reading, never from a line between them: a food seen at 82 °C once was at 82 °C for no
time that anybody knows of. A hold shorter than the readings' interval is thus asked for over a whole interval.
"""

from collections import deque
from dataclasses import dataclass

from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Point, Status, Verdict, lasting

_MOST_KEPT = 4096
"""Readings kept of a hold; beyond, two neighbours become one, the lower of them, which never flatters."""


@dataclass(frozen=True, slots=True)
class HoldRow:
    """One row of a table."""

    name: str
    degrees: float
    hold_s: float


class _Window:
    """The best stretch of at least ``hold_s`` so far, by its lowest reading."""

    def __init__(self, row: HoldRow, gap_s: float) -> None:
        self.row, self._gap_s = row, gap_s
        self._starts: deque[Point] = deque()
        self._lows: deque[Point] = deque()
        self._last_s: float | None = None
        self._run_since: float | None = None
        self.best: tuple[Point, Point, Point] | None = None
        """First, lowest and last reading of it."""
        self.met_at: float | None = None
        self.met_since: float | None = None
        self.longest_s = 0.0
        self.gap: Point | None = None

    def fold(self, second: float, degrees: float) -> None:
        if self._last_s is not None and lasting(self._last_s, second) > self._gap_s:
            self._starts.clear()
            self._lows.clear()
            self._run_since = None
            self.gap = (self._last_s, second)
        self._last_s = second
        self._count_run(second, degrees)
        self._starts.append((second, degrees))
        while self._lows and self._lows[-1][1] >= degrees:
            self._lows.pop()
        self._lows.append((second, degrees))
        if len(self._starts) > _MOST_KEPT:
            self._starts, self._lows = _thinned(self._starts, later=False), _thinned(self._lows, later=True)
        self._slide(second, degrees)

    def _count_run(self, second: float, degrees: float) -> None:
        if degrees < self.row.degrees:
            self._run_since = None
        elif self._run_since is None:
            self._run_since = second
        if self._run_since is not None:
            self.longest_s = max(self.longest_s, lasting(self._run_since, second))

    def _slide(self, second: float, degrees: float) -> None:
        """Let go of starts that a later one serves as well, and keep the warmest stretch."""
        start: Point | None = None
        while self._starts and lasting(self._starts[0][0], second) >= self.row.hold_s:
            start = self._starts.popleft()
        if start is None:
            return
        self._starts.appendleft(start)
        while self._lows[0][0] < start[0]:
            self._lows.popleft()
        lowest = self._lows[0]
        if self.best is None or lowest[1] > self.best[1][1]:
            self.best = (start, lowest, (second, degrees))
        if self.met_at is None and lowest[1] >= self.row.degrees:
            self.met_at, self.met_since = second, self._run_since


def _thinned(points: deque[Point], *, later: bool) -> deque[Point]:
    """Every two neighbours as one that is as low as the lower, at the later or the earlier instant of the two."""
    listed = list(points)
    pairs = [listed[i : i + 2] for i in range(0, len(listed), 2)]
    return deque((pair[-1 if later else 0][0], min(degrees for _, degrees in pair)) for pair in pairs)


class HoldFold:
    """Follows one heating."""

    def __init__(self, rows: tuple[HoldRow, ...], gap_s: float, ceiling: float | None = None) -> None:
        """Any of the rows is enough.

        Args:
            rows: At least one.
            gap_s: Between readings further apart nothing is known.
            ceiling: Nothing above it, if given.
        """
        self._strict = [_Window(row, gap_s) for row in rows]
        self._through_gaps = [_Window(row, float("inf")) for row in rows]
        self._ceiling = ceiling
        self._over: Point | None = None
        self._last: Point | None = None

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading; one that is not later than the last changes nothing."""
        if self._last is not None and second <= self._last[0]:
            return
        self._last = (second, degrees)
        for window in self._strict:
            window.fold(second, degrees)
        for window in self._through_gaps:
            window.fold(second, degrees)
        if self._ceiling is not None and self._over is None and degrees > self._ceiling:
            self._over = (second, degrees)

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """What can be said at an instant; see `Fold`."""
        if self._last is None:
            return Verdict("not judged", why="no readings")
        if self._over is not None and self._ceiling is not None:
            over_s, degrees = self._over
            return Verdict(
                "broken", at_s=over_s, margin_degrees=self._ceiling - degrees, readings=(self._over,), why="ceiling"
            )
        met = [window for window in self._strict if window.met_at is not None]
        if met:
            # All of these are kept; the one kept best speaks for them.
            return _said("met", max(met, key=_degrees))
        lost = next((window for window in self._through_gaps if window.met_at is not None), None)
        if lost is not None:
            strict = next(window for window in self._strict if window.row == lost.row)
            return Verdict("not judged", lost.row.name, gap=strict.gap, why="gap", readings=lost.best or ())
        return self._unmet(self._last[0], now_s, arrival, deadline_s)

    def _unmet(self, last_s: float, now_s: float, arrival: Arrival | None, deadline_s: float | None) -> Verdict:
        nearest = max(self._strict, key=lambda window: (_degrees(window), window.longest_s))
        if deadline_s is not None and now_s > deadline_s:
            return _said("broken", nearest, at_s=deadline_s)
        if deadline_s is not None and arrival is not None:
            soonest_s = last_s + arrival.soonest_min * 60.0 + min(w.row.hold_s for w in self._strict)
            if soonest_s > deadline_s:
                return _said("will not be met in time", nearest, margin_min=(deadline_s - soonest_s) / 60.0)
        return _said("not yet", nearest)


def _degrees(window: _Window) -> float:
    return float("-inf") if window.best is None else window.best[1][1] - window.row.degrees


def _said(status: Status, window: _Window, *, at_s: float | None = None, margin_min: float | None = None) -> Verdict:
    held_min = (window.longest_s - window.row.hold_s) / 60.0
    return Verdict(
        status,
        window.row.name,
        since_s=window.met_since,
        at_s=window.met_at if at_s is None else at_s,
        margin_degrees=None if window.best is None else window.best[1][1] - window.row.degrees,
        margin_min=held_min if margin_min is None else margin_min,
        readings=() if window.best is None else tuple(dict.fromkeys(window.best)),
    )
