"""Curves of stored readings: the line breaks where nothing was heard, noise looks like noise, limits are drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.ports.event_log import Reading

LEAST_SPAN_C: Final = 4.0
"""Height of a drawing, at least: a steady temperature looks steady."""
MOST_POINTS: Final = 240
"""Of a curve as sent; more cannot be seen."""
NEAR_C: Final = 2.0
"""A limit no further than this from the readings is brought into the drawing."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Limit:
    """A line that should not be crossed."""

    y: float
    celsius: float
    beyond: tuple[float, float]
    """From and to, of the side on which it is broken."""


@dataclass(frozen=True, slots=True)
class Trace:
    """Readings of one probe over a time: x 0..100, y 0..100 downward."""

    runs: tuple[tuple[Point, ...], ...]
    """Readings that follow each other without a silence; a line is drawn within each, never between."""
    gaps: tuple[tuple[datetime, datetime], ...]
    low_c: float
    high_c: float
    count: int
    limits: tuple[Limit, ...]

    @property
    def last(self) -> Point:
        """Where the curve ends."""
        return self.runs[-1][-1]


def runs_of(readings: Sequence[Reading], silent_after: timedelta) -> list[list[Reading]]:
    """Readings in the order of time, parted where the silence between two is longer than that."""
    runs: list[list[Reading]] = []
    for reading in readings:
        if runs and reading.measured_at - runs[-1][-1].measured_at <= silent_after:
            runs[-1].append(reading)
        else:
            runs.append([reading])
    return runs


def _thinned(run: list[Reading], every: int) -> list[Reading]:
    """Of every so many the lowest and the highest, so that no peak is lost, and both ends."""
    if every < 2 or len(run) < 4:
        return run
    kept = {0, len(run) - 1}
    for at in range(0, len(run), 2 * every):
        places = range(at, min(at + 2 * every, len(run)))
        kept |= {min(places, key=lambda n: run[n].celsius), max(places, key=lambda n: run[n].celsius)}
    return [run[n] for n in sorted(kept)]


def trace(
    readings: Sequence[Reading],
    since: datetime,
    until: datetime,
    silent_after_min: float,
    *,
    at_least_c: float | None = None,
    at_most_c: float | None = None,
    always: bool = False,
) -> Trace | None:
    """The drawing of some readings; none without any between ``since`` and ``until``.

    Args:
        readings: of one probe, in the order of time.
        since: left edge.
        until: right edge.
        silent_after_min: a longer silence is a gap, in min.
        at_least_c: lower limit, in °C.
        at_most_c: upper limit, in °C.
        always: draw the limits even far from the readings.
    """
    inside = [r for r in readings if since <= r.measured_at <= until]
    if not inside or until <= since:
        return None
    celsius = [r.celsius for r in inside]
    low, high = min(celsius), max(celsius)
    limits = [c for c in (at_least_c, at_most_c) if c is not None]
    near = [c for c in limits if always or low - NEAR_C <= c <= high + NEAR_C]
    bottom, top = min([low, *near]), max([high, *near])
    spare = max(0.0, LEAST_SPAN_C - (top - bottom)) / 2 + 0.08 * max(top - bottom, LEAST_SPAN_C)
    bottom, top = bottom - spare, top + spare

    def y(value: float) -> float:
        return round(min(100.0, max(0.0, 100.0 * (top - value) / (top - bottom))), 2)

    def point(reading: Reading) -> Point:
        return round(100.0 * (reading.measured_at - since) / (until - since), 2), y(reading.celsius)

    runs = runs_of(inside, timedelta(minutes=silent_after_min))
    every = -(-len(inside) // MOST_POINTS)
    drawn = tuple(tuple(point(r) for r in _thinned(run, every)) for run in runs)
    gaps = tuple((a[-1].measured_at, b[0].measured_at) for a, b in zip(runs, runs[1:], strict=False))
    lines = []
    if at_most_c is not None and bottom < at_most_c < top:
        lines.append(Limit(y(at_most_c), at_most_c, (0.0, y(at_most_c))))
    if at_least_c is not None and bottom < at_least_c < top:
        lines.append(Limit(y(at_least_c), at_least_c, (y(at_least_c), 100.0)))
    return Trace(drawn, gaps, low, high, len(inside), tuple(lines))
