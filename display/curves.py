"""Curves of stored readings: the line breaks where nothing was heard, noise looks like noise, limits are drawn."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
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
    target: Limit | None = None
    """What was to be reached; neither side of it is hatched."""
    by_hand: tuple[Point, ...] = ()
    """Readings that somebody took by hand: marks of their own, never part of the line."""

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
    target_c: float | None = None,
    always: bool = False,
    by_hand: Sequence[tuple[datetime, float]] = (),
) -> Trace | None:
    """The drawing of some readings; none without any between ``since`` and ``until``.

    Args:
        readings: of one probe, in the order of time.
        since: left edge.
        until: right edge.
        silent_after_min: a longer silence is a gap, in min.
        at_least_c: lower limit, in °C.
        at_most_c: upper limit, in °C.
        target_c: what is to be reached, in °C; always drawn.
        always: draw the limits even far from the readings.
        by_hand: instants and °C that somebody measured.
    """
    inside = [r for r in readings if since <= r.measured_at <= until]
    hands = [(at, celsius) for at, celsius in by_hand if since <= at <= until]
    if not (inside or hands) or until <= since:
        return None
    seen = [r.celsius for r in inside] + [celsius for _, celsius in hands]
    low, high = min(seen), max(seen)
    near = [c for c in (at_least_c, at_most_c) if c is not None and (always or low - NEAR_C <= c <= high + NEAR_C)]
    near += [c for c in (target_c,) if c is not None]
    y = _scale(min([low, *near]), max([high, *near]))

    def place(at: datetime, celsius: float) -> Point:
        return round(100.0 * (at - since) / (until - since), 2), y(celsius)

    def point(reading: Reading) -> Point:
        return place(reading.measured_at, reading.celsius)

    runs = runs_of(inside, timedelta(minutes=silent_after_min))
    every = -(-len(inside) // MOST_POINTS)
    drawn = tuple(tuple(point(r) for r in _thinned(run, every)) for run in runs)
    gaps = tuple((a[-1].measured_at, b[0].measured_at) for a, b in pairwise(runs))
    limits = [Limit(y(c), c, (0.0, y(c))) for c in (at_most_c,) if c is not None and c in near]
    limits += [Limit(y(c), c, (y(c), 100.0)) for c in (at_least_c,) if c is not None and c in near]
    target = None if target_c is None else Limit(y(target_c), target_c, (0.0, 0.0))
    marks = tuple(place(at, celsius) for at, celsius in hands)
    return Trace(drawn, gaps, low, high, len(inside), tuple(limits), target, marks)


def _scale(low_c: float, high_c: float) -> Callable[[float], float]:
    """Height of a temperature in the drawing, with some room above and below."""
    spare = max(0.0, LEAST_SPAN_C - (high_c - low_c)) / 2 + 0.08 * max(high_c - low_c, LEAST_SPAN_C)
    bottom, top = low_c - spare, high_c + spare
    return lambda celsius: round(100.0 * (top - celsius) / (top - bottom), 2)
