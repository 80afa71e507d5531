"""Changes of who is there when."""

from datetime import date
from typing import Literal

from pydantic import Field

from orchestrator.core.ids import CrewId
from orchestrator.core.models import change_words as words
from orchestrator.core.models.base import Instant, Model
from orchestrator.core.models.kitchen import WEEKDAYS, Kitchen, WeeklyShift


class ExtraShift(Model):
    """Somebody of the crew is there at another time as well."""

    change: Literal["extra shift"] = "extra shift"
    crew: CrewId
    start: Instant
    end: Instant

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{words.person(kitchen, self.crew)} also from {words.span(kitchen, self.start, self.end)}"


class StartEarlier(Model):
    """Somebody's next shift after an instant begins at that instant already."""

    change: Literal["start earlier"] = "start earlier"
    crew: CrewId
    start: Instant

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        member = next((m for m in kitchen.crew if m.id == self.crew), None)
        later = [s.start for s in member.shifts if s.start > self.start] if member is not None else []
        instead = f" instead of {words.clock(kitchen, min(later), day=False)}" if later else ""
        return f"{words.person(kitchen, self.crew)} begins {words.clock(kitchen, self.start)}{instead}"


class Absent(Model):
    """Somebody of the crew is not there, whatever their shifts say."""

    change: Literal["absent"] = "absent"
    crew: CrewId
    start: Instant
    end: Instant

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{words.person(kitchen, self.crew)} away from {words.span(kitchen, self.start, self.end)}"


class WeeklyShifts(Model):
    """From a day on somebody is there at these hours every week, and at no others; without any: not at all."""

    change: Literal["weekly shifts"] = "weekly shifts"
    crew: CrewId
    since: date
    """On the kitchen's clock."""
    shifts: tuple[WeeklyShift, ...] = Field(default=(), max_length=28)

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        since = f"{self.since:%a %d %b}"
        if not self.shifts:
            return f"{words.person(kitchen, self.crew)} has no shifts from {since} on"
        days = [(day, one) for day in WEEKDAYS for one in self.shifts if day in one.days]
        told = ", ".join(f"{day.capitalize()} {one.start} to {one.end}" for day, one in days)
        return f"{words.person(kitchen, self.crew)} every week from {since} on: {told}"
