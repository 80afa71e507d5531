"""When somebody is in the kitchen, and when nobody is: shifts of the whole crew, breaks counted as being there."""

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from orchestrator.core.models import Kitchen
from orchestrator.core.plan_index import Same

Span = tuple[datetime, datetime]


@lru_cache(maxsize=8)
def _presence(same: Same[Kitchen]) -> tuple[Span, ...]:
    found: list[Span] = []
    for start, end in sorted((shift.start, shift.end) for member in same.thing.crew for shift in member.shifts):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return tuple(found)


def presence(kitchen: Kitchen) -> tuple[Span, ...]:
    """When somebody is there, in order and apart; in a break people are near."""
    return _presence(Same(kitchen))


def empty_from(kitchen: Kitchen, instant: datetime) -> datetime:
    """The first instant from then on at which nobody is on shift; the instant itself if nobody is."""
    return next((end for start, end in presence(kitchen) if start <= instant < end), instant)


@dataclass(frozen=True, slots=True)
class Night:
    """A time in which nobody is in the kitchen."""

    start: datetime | None
    """When the last of them leaves; none: nobody has been there in the planned days."""
    end: datetime | None
    """When the first comes; none: nobody comes in the planned days."""


def night_at(kitchen: Kitchen, now: datetime) -> Night:
    """The time without anybody that an instant lies in, or else the next one."""
    spans = presence(kitchen)
    there = next((number for number, (start, end) in enumerate(spans) if start <= now < end), None)
    if there is not None:
        following = spans[there + 1][0] if there + 1 < len(spans) else None
        return Night(spans[there][1], following)
    left = max((end for _, end in spans if end <= now), default=None)
    comes = min((start for start, _ in spans if start > now), default=None)
    return Night(left, comes)
