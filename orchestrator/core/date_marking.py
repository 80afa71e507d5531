"""Limits in days and in time since something was done: date marking that freezing pauses, and cleaning again."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta, tzinfo

from orchestrator.core.models.limit import Limit, LimitKind
from orchestrator.core.models.verdict import LimitVerdict

Frozen = Sequence[tuple[datetime, datetime | None]]
"""From when to when it was frozen through; no end: it still is."""


def days_used(made: datetime, frozen: Frozen, now: datetime, zone: tzinfo) -> int:
    """Days that count by now, the day it was made being day 1.

    A day counts on which it was out of the freezer for any part: the day on which it was frozen does, and so does the
    day on which it was taken out. Days wholly frozen do not.

    Args:
        made: When it was made, or when the oldest of what it is made of was.
        frozen: In order, not overlapping.
        now: The instant asked for.
        zone: Whose calendar days count.

    Source: FDA Food Code 2022, 3-501.17: the day of preparation counts as day 1; that freezing stops the count and does
    not begin it anew, its Annex 3 on the same paragraph.
    """
    first, last = made.astimezone(zone).date(), now.astimezone(zone).date()
    return sum(_counts(first + timedelta(days=n), frozen, zone) for n in range((last - first).days + 1))


def _counts(day: date, frozen: Frozen, zone: tzinfo) -> bool:
    start = datetime(day.year, day.month, day.day, tzinfo=zone)
    after = day + timedelta(days=1)
    end = datetime(after.year, after.month, after.day, tzinfo=zone)
    return not any(since <= start and (until is None or until >= end) for since, until in frozen)


def last_day(made: datetime, frozen: Frozen, days: int, now: datetime, zone: tzinfo) -> date | None:
    """The last day on which it may be used, as it is kept now; none while it is frozen: it waits.

    Args:
        made: See `days_used`.
        frozen: See `days_used`.
        days: What the limit allows.
        now: The instant asked for.
        zone: Whose calendar days count.
    """
    if frozen and frozen[-1][1] is None:
        return None
    day, left = made.astimezone(zone).date(), days
    while True:
        left -= _counts(day, frozen, zone)
        if left <= 0:
            return day
        day += timedelta(days=1)


def judge_days(limit: Limit, made: datetime, frozen: Frozen, now: datetime, zone: tzinfo) -> LimitVerdict:
    """Whether something is still within its days.

    Raises:
        ValueError: the limit is none of days.
    """
    row = limit.rows[0]
    if limit.kind is not LimitKind.DAYS or row.days is None:
        raise ValueError(f"{limit.id} is no limit of days")
    used = days_used(made, frozen, now, zone)
    last = last_day(made, frozen, row.days, now, zone)
    ends = None
    if last is not None:
        after = last + timedelta(days=1)
        ends = datetime(after.year, after.month, after.day, tzinfo=zone)
    return _said(
        limit,
        status="broken" if used > row.days else "met",
        since=made,
        at=ends,
        margin_min=None if ends is None else (ends - now).total_seconds() / 60.0,
    )


def judge_elapsed(limit: Limit, last: datetime | None, now: datetime) -> LimitVerdict:
    """Whether something was done again in time; with nothing on record it is not judged.

    Raises:
        ValueError: the limit is none of time since.
    """
    row = limit.rows[0]
    if limit.kind is not LimitKind.ELAPSED or row.within is None:
        raise ValueError(f"{limit.id} is no limit of time since something was done")
    if last is None:
        return _said(limit, status="not judged", why="nothing on record")
    ends = last + timedelta(seconds=row.within)
    left_min = (ends - now).total_seconds() / 60.0
    return _said(limit, status="broken" if now > ends else "met", since=last, at=ends, margin_min=left_min)


def _said(limit: Limit, **more: object) -> LimitVerdict:
    fields = {"limit": limit.id, "title": limit.title, "applied": limit.applied, "row": limit.rows[0].id}
    return LimitVerdict.model_validate({**fields, "tolerance_degrees": 0.0, **more})
