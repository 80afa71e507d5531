"""Geometry of what screens draw: pure functions of instants and numbers, mirrored by static/js/bars.js."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.views.models import StoreView, TemperatureView, WindowState, WindowView
from orchestrator.ports.event_log import Reading

KNEE_MIN: Final = 10.0
SCALE_MIN: Final = 72 * 60.0
MARKS_MIN: Final = (15, 60, 240, 720, 1440, 4320)
"""Where the nearness scale is marked: 15 min, 1 h, 4 h, 12 h, 1 day, 3 days."""

OPEN_GAP_PX: Final = 26.0
SHUT_GAP_PX: Final = 6.0
CURVE_MIN: Final = 20
"""Minutes of past, and as many of future, in a temperature panel."""


def nearness(minutes: float) -> float:
    """Place of an instant on the nearness scale, in percent of its length, now = 0 and 3 days = 100.

    x = ln(1 + t / 10 min) / ln(1 + 72 h / 10 min): five minutes and three days share one axis, spaced as
    they press on a cook. Before now is 0, beyond three days 100.
    """
    if minutes <= 0:
        return 0.0
    return min(100.0, 100.0 * math.log1p(minutes / KNEE_MIN) / math.log1p(SCALE_MIN / KNEE_MIN))


def marks() -> list[float]:
    """Places of the marks, in percent."""
    return [nearness(minutes) for minutes in MARKS_MIN]


@dataclass(frozen=True, slots=True)
class Bar:
    """A window bar; all places in percent of the nearness scale."""

    state: WindowState
    hatch_to: float
    """Shut from now to here; 0: not shut."""
    open_to: float
    """Rails end here."""
    wall: float | None
    """Latest; none, or more than three days away: the rails run off the scale."""
    jaws_from: float | None
    jaw_start_px: float
    """How far each jaw reaches in at `jaws_from`; at the wall it is 10 px."""
    peg: float | None
    ring: float | None
    """Planned, where it lies beyond the wall."""

    @property
    def missed(self) -> bool:
        """Nothing is left to draw but the block."""
        return self.state is WindowState.MISSED


def live_state(window: WindowView, now: datetime) -> WindowState:
    """State of a window at this instant; the view's own word for what only the plan knows."""
    if window.state is WindowState.MISSED or (window.closes is not None and now > window.closes):
        return WindowState.MISSED
    if window.state is WindowState.AT_RISK:
        return WindowState.AT_RISK
    if window.opens is not None and now < window.opens:
        soon = window.opens - now <= timedelta(minutes=30)
        return WindowState.OPENING if soon else WindowState.SHUT
    if window.closes is not None and window.closes - now <= timedelta(minutes=window.lead_min):
        return WindowState.CLOSING
    return WindowState.OPEN


def _minutes(start: datetime, end: datetime) -> float:
    return (end - start).total_seconds() / 60.0


def _on_scale(now: datetime, instant: datetime | None) -> float | None:
    """Place of a mark; none beyond three days, where nothing may be drawn as if it were there."""
    if instant is None or _minutes(now, instant) > SCALE_MIN:
        return None
    return nearness(_minutes(now, instant))


def window_bar(window: WindowView, now: datetime) -> Bar:
    """Where a window's parts lie at this instant.

    The jaws narrow the opening from 26 to 6 px over the lead time before the latest mark; once inside the
    lead time, the part already gone is cut off, so that the opening at now is as narrow as it has become.
    """
    state = live_state(window, now)
    if state is WindowState.MISSED:
        return Bar(state, 0.0, 0.0, None, None, 0.0, None, None)
    hatch_to = nearness(_minutes(now, window.opens)) if window.opens else 0.0
    wall = _on_scale(now, window.closes)
    jaws_from: float | None = None
    jaw_start_px = 0.0
    if wall is not None and window.closes is not None and window.lead_min > 0:
        begins = _minutes(now, window.closes) - window.lead_min
        jaws_from = max(nearness(begins), hatch_to)
        gone = min(1.0, max(0.0, -begins / window.lead_min))
        jaw_start_px = (OPEN_GAP_PX - SHUT_GAP_PX) / 2 * gone
    planned = _on_scale(now, window.planned)
    peg, ring = planned, None
    beyond = state is WindowState.AT_RISK and window.planned and window.closes and window.planned > window.closes
    if planned is not None and wall is not None and beyond:  # a few minutes past the wall are not at risk
        peg, ring = None, min(98.5, max(planned, wall + 3.0))
    return Bar(state, hatch_to, 100.0 if wall is None else wall, wall, jaws_from, jaw_start_px, peg, ring)


@dataclass(frozen=True, slots=True)
class Block:
    """A lot in a fill strip, in percent of the trough."""

    x: float
    width: float
    label: str
    booked: bool
    over: bool
    """Sticks past the wall."""


def fill_strip(store: StoreView) -> tuple[list[Block], float]:
    """Blocks of a store, and by how much what is in it now exceeds it, in the capacity's unit.

    The trough is 100 wide. Lots in it past the wall are drawn past the wall, at most 12 more. Booked ones end
    at the wall: what is booked for the next day need not be there all at once, so it proves no excess.
    """
    capacity = store.capacity.value
    blocks: list[Block] = []
    at = present = 0.0
    for lot in sorted(store.blocks, key=lambda block: block.booked):
        width = 100.0 * lot.litres / capacity if capacity else 0.0
        wall = 100.0 if lot.booked else 112.0
        start, end = min(at, wall), min(at + width, wall)
        if end > start:
            over = not lot.booked and at + width > 100.0 + 1e-9
            blocks.append(Block(start, end - start, str(lot.lot), lot.booked, over))
        at += width
        present = present if lot.booked else at
    return blocks, max(0.0, (present - 100.0) * capacity / 100.0)


LEAST_ROOM_C = 4.0
"""Height of a temperature panel, at least."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A temperature panel: x 0..100 with now at 50, y 0..100 downward."""

    points: tuple[tuple[float, float], ...]
    target_y: float | None
    arrival: tuple[float, float] | None
    """From and to, on the target line."""
    now_y: float | None
    """Where the curve ends, if it ends now; none when silent."""
    ring: tuple[float, float] | None
    """The last known point of a silent probe."""


def curve(readings: Sequence[Reading], view: TemperatureView, now: datetime) -> Curve:
    """Twenty minutes past, the target line, and the wedge to where it will be met."""
    since = now - timedelta(minutes=CURVE_MIN)
    values = [(r.measured_at, r.celsius) for r in readings if since <= r.measured_at <= now]
    temperatures = [celsius for _, celsius in values] + ([view.target_c] if view.target_c is not None else [])
    if not temperatures:
        return Curve((), None, None, None, None)
    low, high = min(temperatures), max(temperatures)
    # Noise is not drawn as if it meant something.
    room = max(high - low, LEAST_ROOM_C)

    def x(instant: datetime) -> float:
        return 50.0 + 50.0 * _minutes(now, instant) / CURVE_MIN

    def y(celsius: float) -> float:
        return 11.4 + (high - celsius) / room * 78.0

    points = tuple((round(x(at), 2), round(y(celsius), 2)) for at, celsius in values)
    target_y = None if view.target_c is None else round(y(view.target_c), 2)
    silent = view.silent_since is not None
    arrival = None
    if not silent and view.arrival_from is not None and view.arrival_to is not None and points:
        arrival = (min(100.0, max(50.0, x(view.arrival_from))), min(100.0, max(50.0, x(view.arrival_to))))
        if arrival[1] - arrival[0] < 1.0:
            arrival = (arrival[0], min(100.0, arrival[0] + 1.0))
    ring = points[-1] if silent and points else None
    now_y = points[-1][1] if points and not silent else None
    return Curve(points, target_y, arrival, now_y, ring)
