"""How long the record of a lot has waited to be looked through, in working days.

Source, from memory: 21 CFR 117.165(a)(4)(i): records of monitoring and of corrective actions are reviewed within 7
working days of being made, or within a reasonable time that is justified in writing. What counts, and whether that law
is the kitchen's, its local code says; the number of days is a setting (`Warnings.record_review_days`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from orchestrator.core.ids import LotCode
from orchestrator.core.state import State

_SATURDAY: Final = 5


@dataclass(frozen=True, slots=True)
class Review:
    """A record with something on it that nobody has looked through."""

    since: datetime
    """When the first of that was put on record."""
    by: date
    """The last working day on which it is in time, on the kitchen's calendar."""
    waited: int
    """Working days since then, up to today."""
    left: int
    """Working days up to the last one; 0 on that day, and after it."""
    over: bool
    """The last one is past."""
    looked: bool
    """Somebody has looked it through before, and it has changed."""


def is_working_day(day: date) -> bool:
    """From Monday to Friday; holidays count, so that nothing is said to have time that it may not have."""
    return day.weekday() < _SATURDAY


def working_days(after: date, until: date) -> int:
    """How many working days lie after a day, up to and with another; 0 where that is no later."""
    weeks, rest = divmod(max(0, (until - after).days), 7)
    return weeks * _SATURDAY + sum(is_working_day(after + timedelta(days=k)) for k in range(1, rest + 1))


def last_day(made: date, days: int) -> date:
    """The working day that is so many after the day on which something was made.

    Args:
        made: Any day; one made on a Saturday waits from Monday on.
        days: At least 1.
    """
    day = made
    for _ in range(days):
        day += timedelta(days=1)
        while not is_working_day(day):
            day += timedelta(days=1)
    return day


def reviews(state: State, now: datetime) -> Mapping[LotCode, Review]:
    """Of every lot with a record that nobody has looked through to its end: the one that waits longest first.

    Counted from the first entry that nobody has seen: a record that is written over days is made from its first day on.
    """
    kitchen = state.kitchen
    if kitchen is None:
        return {}
    days, today = kitchen.warnings.record_review_days, kitchen.local(now).date()
    planned = {batch.lot for batch in state.plan.batches} if state.plan is not None else set()
    known = planned | {lot.lot for lot in kitchen.stock} | set(state.past.batches) | set(state.past.stock)
    found = {}
    for lot, entries in sorted(state.unseen.items(), key=lambda one: one[1][0]):
        if lot not in known and lot not in state.lots:
            continue  # it has no record of its own
        since = entries[0][1]
        made = kitchen.local(since).date()
        by = last_day(made, days)
        waited, left = working_days(made, today), working_days(today, by)
        found[lot] = Review(since, by, waited, left, over=today > by, looked=lot in state.looked)
    return found
