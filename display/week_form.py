"""The hours of every week as a form: rows of days and times, prefilled with those that hold, and their faults."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from display.panels import Showing
from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Shift
from orchestrator.core.models.change_crew import WeeklyShifts
from orchestrator.core.models.kitchen import WEEKDAYS, Weekday, WeeklyShift

LEAST_ROWS: Final = 3
MOST_ROWS: Final = 10
_CLOCK: Final = re.compile(r"([01]?[0-9]|2[0-3]):[0-5][0-9]")
_WEEK: Final = timedelta(days=7)


@dataclass(slots=True)
class Row:
    """One line: on these days, from when to when, with these breaks; and what is wrong with it."""

    days: list[str] = field(default_factory=list)
    start: str = ""
    end: str = ""
    breaks: str = ""
    fault: str = ""

    @property
    def empty(self) -> bool:
        """Whether nothing was entered."""
        return not (self.days or self.start or self.end or self.breaks)


@dataclass(slots=True)
class WeekForm:
    """All of it."""

    since: str
    rows: list[Row]
    none: bool = False
    """Whether they have no shifts any more."""
    faults: dict[str, str] = field(default_factory=dict)


def prefilled(picture: Showing, member: CrewMember) -> WeekForm:
    """The hours that hold, from tomorrow on; of somebody without weekly ones, those of their last seven days."""
    today = picture.formats.local(picture.now).date()
    weekly = member.weekly or as_weekly(picture, member.shifts)
    rows = [Row([*one.days], one.start, one.end, ", ".join(one.breaks)) for one in weekly]
    return WeekForm((today + timedelta(days=1)).isoformat(), _padded(rows))


def _padded(rows: list[Row]) -> list[Row]:
    more = max(1, LEAST_ROWS - len(rows)) if len(rows) < MOST_ROWS else 0
    return [*rows, *(Row() for _ in range(more))]


def as_weekly(picture: Showing, shifts: Sequence[Shift]) -> tuple[WeeklyShift, ...]:
    """The last seven days of somebody's shifts, as if they came again every week."""
    local = picture.formats.local
    last = max((shift.start for shift in shifts), default=None)
    found: dict[tuple[str, str, tuple[str, ...]], list[Weekday]] = {}
    for shift in sorted(shifts, key=lambda s: local(s.start).weekday()):
        if last is not None and shift.start > last - _WEEK:
            breaks = tuple(f"{local(b.start):%H:%M}-{local(b.end):%H:%M}" for b in shift.breaks)
            key = f"{local(shift.start):%H:%M}", f"{local(shift.end):%H:%M}", breaks
            found.setdefault(key, []).append(WEEKDAYS[local(shift.start).weekday()])
    return tuple(WeeklyShift(days=tuple(days), start=s, end=e, breaks=b) for (s, e, b), days in found.items())


def read(
    picture: Showing, member: CrewMember, fields: Mapping[str, Sequence[str]]
) -> tuple[WeekForm, WeeklyShifts | None]:
    """What was sent; without a change where there is a fault."""
    form = WeekForm(_one(fields, "since"), _rows(fields), bool(_one(fields, "none")))
    since = _since(picture, form)
    shifts = [made for row in form.rows if not row.empty and (made := _shift(picture, row)) is not None]
    wrong = bool(form.faults) or any(row.fault for row in form.rows)
    if form.none and any(not row.empty for row in form.rows):
        form.faults["none"] = picture.words("week_both")
    elif not form.none and not shifts and not wrong:
        form.faults["none"] = picture.words("week_nothing")
    if form.faults or wrong or since is None:
        return form, None
    return form, WeeklyShifts(crew=CrewId(member.id), since=since, shifts=tuple(shifts))


def _one(fields: Mapping[str, Sequence[str]], name: str) -> str:
    return next(iter(fields.get(name, ())), "").strip()[:200]


def _rows(fields: Mapping[str, Sequence[str]]) -> list[Row]:
    found = []
    for number in range(MOST_ROWS):
        days: list[str] = [day for day in fields.get(f"days-{number}", ()) if day in WEEKDAYS]
        times = (_one(fields, f"{name}-{number}") for name in ("from", "to", "breaks"))
        found.append(Row(days, *times))
    while len(found) > LEAST_ROWS and found[-1].empty:
        found.pop()
    return found


def _since(picture: Showing, form: WeekForm) -> date | None:
    try:
        since = date.fromisoformat(form.since)
    except ValueError:
        form.faults["since"] = picture.words("demand_day")
        return None
    today = picture.formats.local(picture.now).date()
    if since < today:
        form.faults["since"] = picture.words("week_past", day=today.isoformat())
    return since


def _shift(picture: Showing, row: Row) -> WeeklyShift | None:
    w = picture.words
    breaks = tuple(re.sub(r"\s*[-\u2013]\s*", "-", part.strip()) for part in row.breaks.split(",") if part.strip())
    if not row.days:
        row.fault = w("week_no_days")
    elif not (_CLOCK.fullmatch(row.start) and _CLOCK.fullmatch(row.end)):
        row.fault = w("week_no_times")
    elif not all(len(ends := part.split("-")) == 2 and all(map(_CLOCK.fullmatch, ends)) for part in breaks):
        row.fault = w("week_breaks")
    if row.fault:
        return None
    days = tuple(day for day in WEEKDAYS if day in row.days)
    clocks = tuple("-".join(map(_padded_clock, part.split("-"))) for part in breaks)
    return WeeklyShift(days=days, start=_padded_clock(row.start), end=_padded_clock(row.end), breaks=clocks)


def _padded_clock(text: str) -> str:
    return text.rjust(5, "0")
