"""Who is here, as people said themselves, and whose shift has begun without them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Kitchen, Shift
from orchestrator.core.recipe_events import PersonCame, PersonWent

FORGOTTEN_AFTER: Final = timedelta(hours=12)
"""Nobody is taken to be here for longer than so without saying it again, as screens forget who picked themself."""
EARLY: Final = timedelta(hours=4)
"""Who says so much before their shift that they are here is here for that shift."""


@dataclass(frozen=True, slots=True)
class Attendance:
    """When each came last, and went last."""

    came: Mapping[CrewId, datetime] = field(default_factory=dict)
    went: Mapping[CrewId, datetime] = field(default_factory=dict)

    def with_event(self, event: PersonCame | PersonWent) -> "Attendance":
        """After one more event."""
        if isinstance(event, PersonCame):
            return Attendance({**self.came, event.person: event.at}, self.went)
        return Attendance(self.came, {**self.went, event.person: event.at})

    def since(self, who: CrewId, now: datetime) -> datetime | None:
        """Since when somebody is here; none if they are not, as far as anybody said."""
        came, went = self.came.get(who), self.went.get(who)
        if came is None or (went is not None and went >= came) or now - came > FORGOTTEN_AFTER:
            return None
        return came


def here(kitchen: Kitchen, book: Attendance, now: datetime) -> tuple[tuple[CrewMember, datetime], ...]:
    """Who is here, since when, in the order in which they came."""
    found = [(member, book.since(member.id, now)) for member in kitchen.crew]
    return tuple(sorted(((m, since) for m, since in found if since is not None), key=lambda one: one[1]))


def not_come(kitchen: Kitchen, book: Attendance, now: datetime) -> tuple[tuple[CrewMember, Shift], ...]:
    """Whose shift has begun so long ago that a late start would be told of, without their saying that they are here.

    Nobody has to say it: that somebody has not is a question to the manager, and no alarm.
    """
    patience = timedelta(minutes=kitchen.warnings.late_start)
    return tuple(
        (member, shift)
        for member in kitchen.crew
        for shift in member.shifts
        if shift.start + patience <= now < shift.end and not _said(book, member.id, shift, now)
    )


def _said(book: Attendance, who: CrewId, shift: Shift, now: datetime) -> bool:
    said = [instant for instant in (book.came.get(who), book.went.get(who)) if instant is not None]
    return any(shift.start - EARLY <= instant <= now for instant in said)


def shift_of(member: CrewMember, now: datetime) -> Shift | None:
    """Their shift that is on, or that begins soon."""
    return next((shift for shift in member.shifts if shift.start - EARLY <= now < shift.end), None)
