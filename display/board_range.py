"""Which part of the board is shown, and grouped by what: an address, a panel's key, the ways from one to another."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Final, Literal
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from display.board_drawing import Axis, axis, close_axis, midnight

By = Literal["place", "batch", "order", "crew"]
Span = Literal["all", "day", "half", "hour"]

BYS: Final[tuple[By, ...]] = ("place", "batch", "order", "crew")
SPANS: Final[Mapping[Span, tuple[int, int, int]]] = {
    "day": (24 * 60, 120, 60),
    "half": (12 * 60, 60, 60),
    "hour": (60, 10, 15),
}
"""Minutes shown, minutes between marks, and minutes to which a place that follows the clock is rounded."""
NOW_AT: Final = 0.25
"""Where now stands when the board follows it: what comes takes more room than what was."""


@dataclass(frozen=True, slots=True)
class Range:
    """A part of the board."""

    span: Span = "all"
    start: datetime | None = None
    """On the kitchen's clock, without its zone; none: now and what comes, moving along with it."""
    by: By = "place"

    def key(self) -> str:
        """As the argument of a panel's key; empty for the whole board by place."""
        if self == Range():
            return ""
        return "~".join((self.span, self.start.isoformat(timespec="minutes") if self.start else "", self.by))

    def address(self, **more: str) -> str:
        """Of the page that shows it."""
        told: dict[str, str] = {}
        if self.span == "day" and self.start is not None and self.start.time() == time(0):
            told["day"] = self.start.date().isoformat()
        elif self.span != "all":
            told["span"] = self.span
            if self.start is not None:
                told["from"] = self.start.isoformat(timespec="minutes")
        if self.by != "place":
            told["by"] = self.by
        told |= {name: value for name, value in more.items() if value}
        return f"/board?{urlencode(told, safe=':')}" if told else "/board"

    def instants(self, zone: str, now: datetime) -> tuple[datetime, datetime]:
        """From when to when it shows, when it is not the whole plan."""
        there, minutes = ZoneInfo(zone), SPANS[self.span][0]
        if self.span == "day":
            day = self.start.date() if self.start is not None else now.astimezone(there).date()
            if self.start is None or self.start.time() == time(0):  # a day of 23 or 25 hours is one day
                return midnight(day, there), midnight(day + timedelta(days=1), there)
        if self.start is not None:
            begin = self.start.replace(tzinfo=there).astimezone(UTC)
        else:
            begin = _floored(now - timedelta(minutes=minutes * NOW_AT), there, SPANS[self.span][2])
            begin = begin.replace(tzinfo=there).astimezone(UTC)
        return begin, begin + timedelta(minutes=minutes)

    def axis(self, plan: tuple[datetime, datetime], zone: str, now: datetime) -> Axis:
        """Its axis: the plan's whole days, or a part of them with marks."""
        if self.span == "all":
            return axis(*plan, zone)
        return close_axis(*self.instants(zone, now), zone, SPANS[self.span][1])

    def moved(self, zone: str, now: datetime, halves: int) -> "Range":
        """The same length, so many halves later; whole days by days."""
        begin, end = self.instants(zone, now)
        there = begin.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
        if self.span == "day":
            return replace(self, start=there + timedelta(days=1 if halves > 0 else -1))
        return replace(self, start=there + halves * (end - begin) / 2)

    def zoomed(self, span: Span, seen: Axis, zone: str, anchor: datetime) -> "Range":
        """Another length, with an instant at the same place of the screen as now; days from midnight to midnight.

        Args:
            span: The other length.
            seen: The axis shown now.
            zone: Of the kitchen.
            anchor: The instant that keeps its place.
        """
        if span == "all":
            return Range("all", None, self.by)
        there = ZoneInfo(zone)
        if span == "day":
            return replace(self, span=span, start=datetime.combine(anchor.astimezone(there).date(), time(0)))
        minutes, _, step = SPANS[span]
        share = min(0.9, max(0.1, seen.clipped(anchor) / 100.0))
        return replace(self, span=span, start=_floored(anchor - share * timedelta(minutes=minutes), there, step))


def _floored(at: datetime, there: ZoneInfo, minutes: int) -> datetime:
    """On the kitchen's clock, without its zone, at a round minute."""
    local = at.astimezone(there).replace(tzinfo=None, second=0, microsecond=0)
    return local - timedelta(minutes=(local.hour * 60 + local.minute) % minutes)


def of_query(told: Mapping[str, str]) -> Range | None:
    """What an address asks for; none where it cannot be read.

    ``span`` is ``all``, ``day``, ``half`` (of a day) or ``hour``; ``from`` an instant on the kitchen's clock, such
    as ``2026-11-26T08:00``; ``by`` is ``place``, ``batch``, ``order`` or ``crew``. ``day=2026-11-26`` is short for
    that day.
    """
    if told.get("day"):
        try:
            day = date.fromisoformat(told["day"])
        except ValueError:
            return None
        return of_key(f"day~{day}T00:00~{told.get('by') or 'place'}")
    return of_key("~".join((told.get("span") or "all", told.get("from", ""), told.get("by") or "place")))


def of_key(key: str) -> Range | None:
    """What a panel's key asks for; none where it cannot be read."""
    if not key:
        return Range()
    span, _, rest = key.partition("~")
    start, _, by = rest.partition("~")
    if span not in ("all", *SPANS) or by not in BYS:
        return None
    try:
        begin = datetime.fromisoformat(start).replace(tzinfo=None, second=0, microsecond=0) if start else None
    except ValueError:
        return None
    if begin is not None and not 2000 <= begin.year <= 2200:
        return None  # far from any plan, where instants end
    return Range(span, begin if span != "all" else None, by)
