"""Shifts that come again every week, as shifts with their instants: for as many days as can be planned."""

import itertools
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from orchestrator.core.ids import CrewId
from orchestrator.core.models.kitchen import MOST_DAYS, WEEKDAYS, Break, CrewMember, Kitchen, Shift, WeeklyShift

_DAY: Final = timedelta(days=1)
_ANY_ZONE: Final = ZoneInfo("UTC")
LONGEST_SHIFT: Final = timedelta(hours=16)
"""Longer ones are taken for a slip of the pen. Ours."""
KEPT_BACK: Final = timedelta(days=7)
"""So long after they ended shifts are known to screens; records do not need them. Ours."""


def first_day(kitchen: Kitchen) -> date:
    """The day on which planning starts, on the kitchen's clock."""
    return kitchen.local(kitchen.planning_start).date()


def last_day(start: date) -> date:
    """The last day for which weekly shifts are written out, where planning starts on a day."""
    return start + MOST_DAYS * _DAY


def known_until(kitchen: Kitchen) -> datetime:
    """Until when weekly shifts are written out: later absences must be remembered."""
    return _midnight(ZoneInfo(kitchen.time_zone), last_day(first_day(kitchen)) + _DAY)


def _midnight(zone: ZoneInfo, day: date) -> datetime:
    return datetime.combine(day, time(), tzinfo=zone).astimezone(UTC)


def written_out(weekly: Iterable[WeeklyShift], zone: ZoneInfo, first: date, last: date) -> tuple[Shift, ...]:
    """The shifts of these days, both included, in order of time.

    A time that a change of clocks leaves out is taken as if they had not changed; one that comes twice, the first time.
    """
    found = [
        _in_order(one, zone, first + number * _DAY)
        for number in range((last - first).days + 1)
        for one in weekly
        if WEEKDAYS[(first + number * _DAY).weekday()] in one.days
    ]
    return tuple(sorted((shift for shift in found if shift.start < shift.end), key=lambda shift: shift.start))


def _in_order(weekly: WeeklyShift, zone: ZoneInfo, day: date) -> Shift:
    """The shift of a day; where clocks go forward within a break, it follows on what is before it, and keeps its
    length."""
    shift, written = _shift(weekly, zone, day), _shift(weekly, _ANY_ZONE, day)
    breaks, since = [], shift.start
    for rest, meant in zip(shift.breaks, written.breaks, strict=True):
        begins = max(rest.start, since)
        since = min(rest.end if rest.end > begins else begins + (meant.end - meant.start), shift.end)
        if begins < since:
            breaks.append(Break(start=begins, end=since))
    return shift.model_copy(update={"breaks": tuple(breaks)})


def _shift(weekly: WeeklyShift, zone: ZoneInfo, day: date) -> Shift:
    begins = _clock(weekly.start)
    start, end = _span(zone, day, begins, _clock(weekly.end))
    breaks = []
    for text in weekly.breaks:
        first, until = (_clock(part) for part in text.split("-"))
        since, ends = _span(zone, day + _DAY if first < begins else day, first, until)
        breaks.append(Break(start=since, end=ends))
    return Shift(start=start, end=end, breaks=tuple(breaks))


def _clock(text: str) -> time:
    return time.fromisoformat(text)


def _span(zone: ZoneInfo, day: date, start: time, end: time) -> tuple[datetime, datetime]:
    last = day if end > start else day + _DAY
    first = datetime.combine(day, start, tzinfo=zone).astimezone(UTC)
    return first, datetime.combine(last, end, tzinfo=zone).astimezone(UTC)


def with_weekly(member: CrewMember, zone: ZoneInfo, start: date) -> CrewMember:
    """Somebody's dated shifts with their weekly ones; on a day that has a dated one, that holds alone."""
    more = _besides_dated(member, zone, start, last_day(start))
    shifts = tuple(sorted((*member.shifts, *more), key=lambda shift: shift.start))
    return member.model_copy(update={"shifts": shifts})


def _besides_dated(member: CrewMember, zone: ZoneInfo, first: date, last: date) -> Iterator[Shift]:
    dated = {shift.start.astimezone(zone).date() for shift in member.shifts}
    every = written_out(member.weekly, zone, first, last)
    return (shift for shift in every if shift.start.astimezone(zone).date() not in dated)


def gained(kitchen: Kitchen, start: datetime) -> dict[CrewId, tuple[Shift, ...]]:
    """Who works when on the days that planning gains as it starts at another instant; nobody without weekly shifts."""
    zone, new = ZoneInfo(kitchen.time_zone), kitchen.local(start).date()
    first = max(last_day(first_day(kitchen)) + _DAY, new)
    shifts = {
        member.id: without(_besides_dated(member, zone, first, last_day(new)), member.away) for member in kitchen.crew
    }
    return {who: mine for who, mine in shifts.items() if mine}


def without(shifts: Iterable[Shift], away: Iterable[Break]) -> tuple[Shift, ...]:
    """What absences leave of shifts, with the breaks that still lie in it."""
    left = tuple(shifts)
    for absence in away:
        left = tuple(part for shift in left for part in _without(shift, absence.start, absence.end))
    return left


def _without(shift: Shift, start: datetime, end: datetime) -> Iterator[Shift]:
    for begins, ends in ((shift.start, min(start, shift.end)), (max(end, shift.start), shift.end)):
        if begins < ends:
            inside = (b for b in shift.breaks if b.start < ends and begins < b.end)
            breaks = tuple(Break(start=max(b.start, begins), end=min(b.end, ends)) for b in inside)
            yield Shift(start=begins, end=ends, breaks=breaks)


def joined(shifts: Iterable[Shift]) -> tuple[Shift, ...]:
    """In order of time, overlapping and adjoining ones as one: nobody may work across the seam of two."""
    found: list[Shift] = []
    for shift in sorted(shifts, key=lambda s: s.start):
        if found and shift.start <= found[-1].end:
            last = found.pop()
            breaks = tuple(sorted({*last.breaks, *shift.breaks}, key=lambda b: b.start))
            found.append(Shift(start=last.start, end=max(last.end, shift.end), breaks=breaks))
        else:
            found.append(shift)
    return tuple(found)


def from_day(member: CrewMember, weekly: tuple[WeeklyShift, ...], kitchen: Kitchen, since: date) -> CrewMember:
    """Somebody who works by other weekly shifts from a day on; whatever was told of later days holds no more."""
    zone, start = ZoneInfo(kitchen.time_zone), first_day(kitchen)
    before = (shift for shift in member.shifts if shift.start.astimezone(zone).date() < since)
    after = written_out(weekly, zone, max(since, start), last_day(start))
    day = _midnight(zone, since)
    away = tuple(Break(start=one.start, end=min(one.end, day)) for one in member.away if one.start < day)
    return member.model_copy(update={"shifts": joined((*before, *after)), "weekly": weekly, "away": away})


def with_days(
    crew: tuple[CrewMember, ...], more: dict[CrewId, tuple[Shift, ...]], start: datetime
) -> Iterator[CrewMember]:
    """The crew with the shifts of days gained, and without those long over."""
    for member in crew:
        shifts = (*(s for s in member.shifts if s.end > start - KEPT_BACK), *more.get(member.id, ()))
        away = tuple(one for one in member.away if one.end > start)
        yield member.model_copy(update={"shifts": joined(shifts), "away": away})


def fault(weekly: tuple[WeeklyShift, ...]) -> tuple[str, str] | None:
    """What is wrong with weekly shifts, and what would be right; none when nothing is."""
    monday = date(2026, 1, 5)
    for one in weekly:
        shift = _shift(one, _ANY_ZONE, monday)
        if shift.end - shift.start > LONGEST_SHIFT:
            hours = (shift.end - shift.start).total_seconds() / 3600
            return f"the shift from {one.start} to {one.end} lasts {hours:g} h", "the two times swapped, or two shifts"
        edges = [shift.start, *(edge for rest in shift.breaks for edge in (rest.start, rest.end)), shift.end]
        if edges != sorted(edges):
            told = ", ".join(one.breaks)
            return f"a break of {told} lies outside the shift", f"breaks in order, from {one.start} to {one.end}"
    spans = written_out(weekly, _ANY_ZONE, monday, monday + 7 * _DAY)
    both = next((first for first, second in itertools.pairwise(spans) if second.start < first.end), None)
    if both is None:
        return None
    return (
        f"two shifts at once, {both.start:%a %H:%M} to {both.end:%H:%M}",
        "one shift that ends before the next begins",
    )


def works_until(kitchen: Kitchen) -> datetime | None:
    """When the last shift that anybody has ends; none where none is known."""
    return max((shift.end for member in kitchen.crew for shift in member.shifts), default=None)
