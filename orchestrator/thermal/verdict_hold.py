"""Heating to a row's temperature for a row's time: any row is enough, and nothing above a ceiling.

A hold counts from reading to reading, never from a line between them: a food seen at 82 °C once was at 82 °C for no
time that anybody knows of. A hold shorter than the readings' interval is thus asked for over a whole interval.
"""

from collections import deque
from copy import deepcopy
from dataclasses import dataclass

from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Point, Status, Verdict

_MOST_KEPT = 4096
"""Readings kept of a hold; beyond, two neighbours become one, the lower of them, which never flatters."""
_HAIR_S = 5e-7
"""Instants are compared to the microsecond; see `verdict.lasting`."""


@dataclass(frozen=True, slots=True)
class HoldRow:
    """One row of a table."""

    name: str
    degrees: float
    hold_s: float


class _Run:
    """One row as one thermometer shows it: how long at a stretch, and whether long enough."""

    __slots__ = ("longest_s", "met_at", "met_since", "since")

    def __init__(self) -> None:
        self.since: float | None = None
        self.met_at: float | None = None
        self.met_since: float | None = None
        self.longest_s = 0.0


class _Window:
    """The best stretch of at least ``hold_s`` so far, by its lowest reading."""

    __slots__ = ("_lows", "_starts", "best", "decided", "enough_s", "row", "runs")

    def __init__(self, row: HoldRow, thermometers: int) -> None:
        self.row = row
        self.enough_s = row.hold_s - _HAIR_S
        self._starts: deque[Point] = deque()
        self._lows: deque[Point] = deque()
        self.best: tuple[Point, Point, Point] | None = None
        """First, lowest and last reading of it, as they were read."""
        self.decided: tuple[Point, ...] = ()
        """Those of them that are not the same."""
        self.runs = [_Run() for _ in range(thermometers)]

    def begin_anew(self) -> None:
        """Forget the stretch that goes on."""
        self._starts.clear()
        self._lows.clear()
        for run in self.runs:
            run.since = None

    def fold(self, point: Point, shown: list[float], shifts: tuple[float, ...]) -> bool:
        """Take one reading, and what each thermometer would have shown. Returns whether it met the row for any."""
        second = point[0]
        (starts, lows), asked = self._with(point), self.row.degrees
        for run, value in zip(self.runs, shown, strict=True):
            if value < asked:
                run.since = None
            elif run.since is None:
                run.since = second
            elif second - run.since > run.longest_s:
                run.longest_s = second - run.since
        latest = second - self.enough_s
        if starts[0][0] > latest:
            return False
        # Starts that a later one serves as well are let go, and the warmest stretch is kept.
        while len(starts) > 1 and starts[1][0] <= latest:
            starts.popleft()
        first_s = starts[0][0]
        while lows[0][0] < first_s:
            lows.popleft()
        lowest = lows[0]
        if self.best is None or lowest[1] > self.best[1][1]:
            self.best = (starts[0], lowest, point)
            self.decided = tuple(dict.fromkeys(self.best))
        news = False
        for run, shift in zip(self.runs, shifts, strict=True):
            if run.met_at is None and lowest[1] + shift >= asked:
                run.met_at, run.met_since, news = second, run.since, True
        return news

    def _with(self, point: Point) -> tuple[deque[Point], deque[Point]]:
        """Starts and lows with one reading more."""
        starts, lows = self._starts, self._lows
        starts.append(point)
        while lows and lows[-1][1] >= point[1]:
            lows.pop()
        lows.append(point)
        # Each by itself: of few lows, two neighbours may be an hour apart, and the lower would count until the later.
        if len(starts) > _MOST_KEPT:
            self._starts = starts = _thinned(starts, later=False)
        if len(lows) > _MOST_KEPT:
            self._lows = lows = _thinned(lows, later=True)
        return starts, lows


def _thinned(points: deque[Point], *, later: bool) -> deque[Point]:
    """Every two neighbours as one that is as low as the lower, at the later or the earlier instant of the two."""
    listed = list(points)
    pairs = [listed[i : i + 2] for i in range(0, len(listed), 2)]
    return deque((pair[-1 if later else 0][0], min(degrees for _, degrees in pair)) for pair in pairs)


class HoldFold:
    """Follows one heating, and beside it what thermometers that are off by the tolerance would have said.

    The best stretch is the same for all of them, for each shows every reading off by the same; only what they compare
    it with differs. So three cost little more than one.
    """

    def __init__(
        self, rows: tuple[HoldRow, ...], gap_s: float, ceiling: float | None = None, tolerance: float | None = None
    ) -> None:
        """Any of the rows is enough.

        Args:
            rows: At least one.
            gap_s: Between readings further apart nothing is known.
            ceiling: Nothing above it, if given.
            tolerance: By how much the thermometer may be off to either side; none: not asked.
        """
        self._shifts = (0.0,) if tolerance is None else (0.0, -tolerance, tolerance)
        self._strict = [_Window(row, len(self._shifts)) for row in rows]
        self._through_gaps: list[_Window] | None = None
        """The same as if there were no gaps; none before the first gap, and once it does not matter any more."""
        self._shortest_s = min(row.hold_s for row in rows)
        self._gap_s, self._gap = gap_s + _HAIR_S, (0.0, 0.0)
        self._ceiling = ceiling
        self._over: list[Point | None] = [None] * len(self._shifts)
        self._settled: list[Status | None] = [None] * len(self._shifts)
        """What a thermometer has said for good: met, or broken by the ceiling."""
        self._last: Point | None = None

    def fold(self, second: float, degrees: float) -> None:
        """Take one reading; one that is not later than the last changes nothing."""
        point, last = (second, degrees), self._last
        if last is not None:
            if second <= last[0]:
                return
            if second - last[0] >= self._gap_s:
                self._pass_gap(last[0], second)
        self._last = point
        shown = [degrees + shift for shift in self._shifts]
        for window in self._strict:
            if window.fold(point, shown, self._shifts):
                for number, run in enumerate(window.runs):
                    if run.met_at is not None and self._settled[number] is None:
                        self._settled[number] = "met"
        if self._through_gaps is not None:
            for window in self._through_gaps:
                window.fold(point, shown, self._shifts)
        if self._ceiling is not None:
            for number, value in enumerate(shown):
                if value > self._ceiling and self._over[number] is None:
                    self._over[number], self._settled[number] = (second, value), "broken"

    def _pass_gap(self, before_s: float, second: float) -> None:
        self._gap = (before_s, second)
        if None not in self._settled:
            self._through_gaps = None
        elif self._through_gaps is None:
            self._through_gaps = deepcopy(self._strict)
        for window in self._strict:
            window.begin_anew()

    def _met(self, number: int) -> list[_Window]:
        return [window for window in self._strict if window.runs[number].met_at is not None]

    def _lost(self, number: int) -> _Window | None:
        """The row that would be met if nothing were unknown."""
        if self._through_gaps is None:
            return None
        return next((w for w in self._through_gaps if w.runs[number].met_at is not None), None)

    def waits(self, deadline_s: float | None) -> bool:
        """Whether what is said may depend on when the temperature is expected; see `Fold`."""
        if deadline_s is None or self._last is None:
            return False
        return any(settled is None and self._lost(number) is None for number, settled in enumerate(self._settled))

    def verdict(self, now_s: float, arrival: Arrival | None = None, deadline_s: float | None = None) -> Verdict:
        """What can be said at an instant; see `Fold`."""
        if self._last is None:
            return Verdict("not judged", why="no readings")
        if None in self._settled:
            said = [self._status(number, now_s, arrival, deadline_s) for number in range(len(self._settled))]
            status, within = said[0], said.count(said[0]) < len(said)
        else:
            settled = self._settled
            status, within = settled[0] or "met", settled.count(settled[0]) < len(settled)
        return self._told(status, arrival, deadline_s, within)

    def _status(self, number: int, now_s: float, arrival: Arrival | None, deadline_s: float | None) -> Status:
        settled = self._settled[number]
        if settled is not None:
            return settled
        if self._lost(number) is not None:
            return "not judged"
        if deadline_s is None:
            return "not yet"
        if now_s > deadline_s:
            return "broken"
        soonest_s = self._soonest_s(arrival)
        return "will not be met in time" if soonest_s is not None and soonest_s > deadline_s else "not yet"

    def _soonest_s(self, arrival: Arrival | None) -> float | None:
        if arrival is None or self._last is None:
            return None
        return self._last[0] + arrival.soonest_min * 60.0 + self._shortest_s

    def _told(self, status: Status, arrival: Arrival | None, deadline_s: float | None, within: bool) -> Verdict:
        over = self._over[0]
        if over is not None and self._ceiling is not None:
            margin = self._ceiling - over[1]
            return Verdict(status, "", None, over[0], margin, None, (over,), None, "ceiling", within)
        if status == "met":
            # All of these are kept; the one kept best speaks for them.
            return _said(status, max(self._met(0), key=_degrees), within)
        lost = self._lost(0)
        if status == "not judged" and lost is not None:
            return Verdict(
                status, lost.row.name, gap=self._gap, why="gap", readings=lost.best or (), within_tolerance=within
            )
        nearest = max(self._strict, key=lambda window: (_degrees(window), _longest_s(window)))
        if status == "broken":
            return _said(status, nearest, within, at_s=deadline_s)
        soonest_s = self._soonest_s(arrival) if status == "will not be met in time" else None
        if soonest_s is not None and deadline_s is not None:
            return _said(status, nearest, within, margin_min=(deadline_s - soonest_s) / 60.0)
        return _said(status, nearest, within)


def _degrees(window: _Window) -> float:
    return float("-inf") if window.best is None else window.best[1][1] - window.row.degrees


def _longest_s(window: _Window) -> float:
    return round(window.runs[0].longest_s, 6)


def _said(
    status: Status, window: _Window, within: bool, *, at_s: float | None = None, margin_min: float | None = None
) -> Verdict:
    run, best = window.runs[0], window.best
    return Verdict(
        status,
        window.row.name,
        run.met_since,
        run.met_at if at_s is None else at_s,
        None if best is None else best[1][1] - window.row.degrees,
        (_longest_s(window) - window.row.hold_s) / 60.0 if margin_min is None else margin_min,
        window.decided,
        None,
        "",
        within,
    )
