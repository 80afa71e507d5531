"""Whom the kitchen calls when nobody there sees an alarm: people in order, their channels, their quiet hours.

A channel names where its address is kept, never the address itself: addresses hold passwords and tokens, and what
stands in a file, an event or a log is read by many.
"""

from datetime import datetime, time, timedelta
from enum import StrEnum
from typing import Final, Self

from pydantic import AwareDatetime, Field, model_validator

from orchestrator.core.ids import AlarmId, CalleeId, CrewId
from orchestrator.core.models.alarm import Priority
from orchestrator.core.models.base import Model
from orchestrator.core.quantities import Minutes

SECRET_PATTERN: Final = r"^[A-Z][A-Z0-9_]*$"  # noqa: S105 - how a secret's name is written
CLOCK_PATTERN: Final = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"


class QuietHours(Model):
    """From one time of the kitchen's clock to another, each day; an end that is not later lies on the next day."""

    start: str = Field(pattern=CLOCK_PATTERN)
    end: str = Field(pattern=CLOCK_PATTERN)

    def until(self, local: datetime) -> datetime | None:
        """When the quiet hours that an instant falls into are over.

        Args:
            local: Aware, on the kitchen's clock.

        Returns:
            Their end, on the same clock; none outside them. Where the clocks go back, both of the two hours of one
            name count; where they go forward, an end that does not exist is that much later.
        """
        first, last = time.fromisoformat(self.start), time.fromisoformat(self.end)
        clock = local.time().replace(tzinfo=None)
        today = local.date()
        if first < last:
            inside, day = first <= clock < last, today
        else:
            inside, day = clock >= first or clock < last, today if clock < last else today + timedelta(days=1)
        return datetime.combine(day, last, tzinfo=local.tzinfo).replace(fold=local.fold) if inside else None


class CallChannel(Model):
    """One way to reach somebody."""

    name: str = Field(min_length=1, max_length=40)
    """As screens show it: ``Phone``, ``Mail``."""
    secret: str = Field(pattern=SECRET_PATTERN, max_length=100)
    """Name of the environment variable, or of the line in the secrets file, that holds its address."""


class Callee(Model):
    """Somebody who is called."""

    crew: CrewId | None = None
    """One of the crew ..."""
    role: str = Field(default="", max_length=60)
    """... or somebody who is not, in words, such as ``Owner``."""
    channels: tuple[CallChannel, ...]
    """All of them are tried; one that is reached is enough."""
    quiet: tuple[QuietHours, ...] = ()
    """When nothing but critical alarms may reach them."""

    @property
    def id(self) -> CalleeId:
        """What events call them."""
        return CalleeId(self.crew if self.crew is not None else f"role:{self.role}")

    def quiet_until(self, local: datetime) -> datetime | None:
        """When the quiet hours at an instant of the kitchen's clock are over; none outside them."""
        end: datetime | None = None
        for _ in range(len(self.quiet) + 1):  # one may end within another
            later = [until for hours in self.quiet if (until := hours.until(end or local)) is not None]
            if not later:
                break
            end = max(later)
        return end

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if (self.crew is None) == (not self.role.strip()):
            raise ValueError("it is not clear who is called: give either `crew: <id>` or `role: <words>`")
        if not self.channels:
            raise ValueError("nobody can be reached without a channel: give at least one")
        if len({channel.name for channel in self.channels}) < len(self.channels):
            raise ValueError("two channels have the same name: name each once")
        return self


class CallPlan(Model):
    """Who is called about which alarms, in which order."""

    people: tuple[Callee, ...] = ()
    """In the order in which they are called; empty: nobody is."""
    priorities: tuple[Priority, ...] = (Priority.CRITICAL, Priority.WARNING)
    """Which alarms call."""
    first_after: Minutes = Field(default=5, ge=0)
    """So long an alarm may stand unseen while somebody is on shift; with nobody there the first is called at once."""
    next_after: Minutes = Field(default=10, ge=1)
    """So long after a call the next person is called, if nobody has seen the alarm."""
    again_after: Minutes = Field(default=30, ge=1)
    """So long after the call to the last person it begins again with the first."""

    def callee(self, callee: CalleeId) -> Callee | None:
        """The person of that id, if still on the list."""
        return next((one for one in self.people if one.id == callee), None)


class CallWhy(StrEnum):
    """Why somebody is called now."""

    FIRST = "first"
    NEXT = "next"
    """Whoever was called before has not seen it, or could not be reached."""
    AGAIN = "again"
    """All were called, and nobody has seen it."""
    HELD_BACK = "held_back"
    """It came in their quiet hours, which are over."""
    TEST = "test"


class CallFault(StrEnum):
    """Why a channel did not reach anybody; a word of ours, never a library's message, which may hold an address."""

    NO_ADDRESS = "no_address"
    """Nothing stands in the environment or the secrets file under its name."""
    BAD_ADDRESS = "bad_address"
    """What stands there is no address that is understood."""
    REFUSED = "refused"
    """The other side would not take it, or could not be reached."""
    NO_ANSWER = "no_answer"
    """No answer in time."""
    PRACTICE = "practice"
    """Nothing is sent in PRACTICE."""
    OVER = "over"
    """Nobody need be told any more: the alarm was seen, or over, or the person is off the list."""


class ChannelFault(Model):
    """A channel that did not reach anybody, and why."""

    channel: str
    fault: CallFault
    code: int | None = None
    """Number by which the other side refused (HTTP status), where it gave one."""


class ChannelState(Model):
    """What is known of a channel."""

    reached_at: AwareDatetime | None = None
    """When it last reached somebody."""
    failed_at: AwareDatetime | None = None
    """When it last did not, if that was later."""
    fault: CallFault | None = None
    code: int | None = None


class CallStatus(StrEnum):
    """What became of a call."""

    MADE = "made"
    """On its way; after a restart it is sent again, since nobody knows whether it was."""
    DELIVERED = "delivered"
    GAVE_UP = "gave_up"


class Call(Model):
    """A call on record."""

    seq: int
    """Of the event that made it."""
    to: CalleeId
    why: CallWhy
    """Of several alarms, the first in the order of `CallWhy`."""
    alarms: tuple[AlarmId, ...]
    titles: tuple[str, ...] = ()
    """What the alarms were about when it was made: title of the task, store, probe, machine or lot."""
    made_at: AwareDatetime
    status: CallStatus = CallStatus.MADE
    ended_at: AwareDatetime | None = None
    attempts: int = 0
    """That failed."""
    reached: tuple[str, ...] = ()
    faults: tuple[ChannelFault, ...] = ()
    person: CrewId | None = None
    """Who asked for a test."""
