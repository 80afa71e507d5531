"""How the alarms do: their counts beside the standard's guidance, read on a page and taken away as CSV."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from flask import Blueprint, Response, request

from display.alarm_tally import DAYS, figures_of
from display.panels import Showing
from display.papers.answers import as_csv, as_filed
from display.papers.csv_cells import cell_of
from display.request import page, showing
from orchestrator.core.alarm_figures import (
    ACCEPTABLE_IN_TEN,
    CHATTER,
    FLOOD_IN_TEN,
    FLOOD_SHARE,
    MANAGEABLE_IN_TEN,
    MOST_STALE,
    SHARES,
    Figures,
)
from orchestrator.core.alarms import suppressed
from orchestrator.core.models.alarm import Priority

pages = Blueprint("alarm_figures", __name__)

_HOUR: Final = timedelta(hours=1)
"""An average of less time than it is about says nothing yet: an hour for ten minutes, half a day for an hour."""
WIDE, HIGH = 480.0, 120.0
"""Of the drawing, in its own units."""


@dataclass(frozen=True)
class Row:
    """A figure beside its guidance."""

    key: str
    value: str
    guidance: str
    verdict: str
    """``ok``, ``much``, ``most``, or ``early`` where an average says nothing yet."""


@dataclass(frozen=True)
class Bar:
    """One hour of the drawing."""

    x: float
    y: float
    width: float
    height: float
    label: str
    count: int


def rows(picture: Showing, found: Figures) -> list[Row]:
    """All figures with a guidance, in the order in which one asks."""
    w = picture.words

    def judged(value: float, well: float, most: float) -> str:
        return "ok" if value <= well else "much" if value <= most else "most"

    def row(key: str, value: str, verdict: str, **guidance: object) -> Row:
        return Row(key, value, w(f"figure_{key}_guidance", **guidance), verdict)

    def average(value: float, well: float, most: float, least: timedelta) -> str:
        return "early" if found.until - found.since < least else judged(value, well, most)

    in_ten, hour, day = found.in_ten, found.per_hour, found.in_ten * 144
    well, most, a_day = ACCEPTABLE_IN_TEN, MANAGEABLE_IN_TEN, _HOUR * 24
    return [
        row("in_ten", f"{in_ten:.2f}", average(in_ten, well, most, _HOUR), well=well, most=most),
        row("per_hour", f"{hour:.1f}", average(hour, well * 6, most * 6, _HOUR * 12), well=well * 6, most=most * 6),
        row("per_day", f"{day:.0f}", average(day, well * 144, most * 144, a_day), well=well * 144, most=most * 144),
        row("most_in_ten", str(found.most_in_ten), judged(found.most_in_ten, FLOOD_IN_TEN, FLOOD_IN_TEN)),
        row("floods", _percent(found.floods), judged(found.floods, FLOOD_SHARE, FLOOD_SHARE)),
        row("chattering", str(len(found.chattering)), judged(len(found.chattering), 0, 0), count=CHATTER),
        row("fleeting", str(len(found.fleeting)), judged(len(found.fleeting), 0, 0)),
        row("stale", str(len(found.stale)), judged(len(found.stale), MOST_STALE, MOST_STALE)),
    ]


def _percent(share: float) -> str:
    """In a file: always with a decimal point."""
    return f"{share * 100:.1f} %"


def _told(picture: Showing, share: float) -> str:
    """On the page: as its reader writes numbers, and no ``5.0`` where 5 is meant."""
    return f"{picture.formats.trim(share * 100, 1)}\u00a0%"


def bars(picture: Showing, found: Figures) -> list[Bar]:
    """The hours of the last day, as high as they are full; at least six alarms fill the drawing."""
    full = max(6, *(count for _, count in found.hours))
    width = WIDE / len(found.hours)
    return [
        Bar(n * width, HIGH - HIGH * count / full, width * 0.8, HIGH * count / full, picture.formats.clock(hour), count)
        for n, (hour, count) in enumerate(found.hours)
    ]


def _asked_days() -> int:
    asked = request.args.get("days", "7")
    return int(asked) if asked in {str(days) for days in DAYS} else 7


def _found(picture: Showing, days: int) -> Figures:
    return figures_of(picture.gateway, picture.snapshot, days)


@pages.get("/alarms/figures")
def figures_page() -> str:
    """Figures of one day, a week or a month, by ``?days=``."""
    picture, days = showing(), _asked_days()
    found, state = _found(picture, days), picture.snapshot.state
    return page(
        "alarm_figures.html",
        found=found,
        days=days,
        choices=DAYS,
        rows=rows(picture, found),
        bars=bars(picture, found),
        wide=WIDE,
        high=HIGH,
        shares=[(p, _told(picture, found.shares[p]), _told(picture, SHARES[p])) for p in Priority],
        heads={alarm.id: picture.sentences.alarm_head(alarm.facts) for alarm in state.alarms.values()}
        | {one.alarm: picture.sentences.alarm_head(one.facts) for one in found.frequent},
        suppressed=suppressed(state, picture.snapshot.facts, picture.now),
    )


def table(picture: Showing, found: Figures) -> Iterator[tuple[str, str, str, str]]:
    """The same figures as rows: what, of which, value, guidance; instants as RFC 3339 in UTC."""
    yield "figure", "of", "value", "guidance"
    yield "since", "", cell_of(found.since), ""
    yield "until", "", cell_of(found.until), ""
    yield "total", "", str(found.total), ""
    for row in rows(picture, found):
        yield row.key, "", row.value, row.guidance
    for priority in Priority:
        yield "share", priority.value, _percent(found.shares[priority]), _percent(SHARES[priority])
    for one in found.frequent:
        yield "frequent", one.alarm, str(one.count), ""
    for alarm in found.longest:
        yield "standing_since", alarm.id, cell_of(alarm.raised_at), ""
    for chatter, count in found.chattering:
        yield "most_in_an_hour", chatter, str(count), ""
    for fleeting, count in found.fleeting:
        yield "over_within_a_minute", fleeting, str(count), ""
    for name, minutes in (("median", found.seen_median_min), ("nine_of_ten", found.seen_tenth_min)):
        yield "seen_after_min", name, "" if minutes is None else f"{minutes:.1f}", ""
    for hour, count in found.hours:
        yield "hour", cell_of(hour), str(count), ""


@pages.get("/alarms/figures.csv")
def figures_csv() -> Response:
    """The figures as CSV (RFC 4180), for ``?days=``."""
    picture, days = as_filed(showing()), _asked_days()
    columns, *rows = table(picture, _found(picture, days))
    return as_csv(columns, rows, f"alarms-{days}-days")
