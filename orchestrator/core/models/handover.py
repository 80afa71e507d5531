"""A shift hand-over note: what happened since the last one, how it stands, what comes next."""

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId
from orchestrator.core.models.alarm import AlarmFacts
from orchestrator.core.models.base import Model


class NoteLine(Model):
    """One thing of a note, as it was known then: later plans do not change it."""

    what: str
    """Title of a task, name of a machine, code of a lot."""
    thing: str = ""
    """Lot or order that it is about."""
    where: str = ""
    at: AwareDatetime | None = None
    """When it ended, is to end, stopped or begins."""
    who: tuple[CrewId, ...] = ()
    reason: str = ""


class HandoverNote(Model):
    """What one shift leaves to the next."""

    since: AwareDatetime
    until: AwareDatetime
    """What comes was looked at as far as this."""
    done: tuple[NoteLine, ...] = ()
    left_out: tuple[NoteLine, ...] = ()
    in_hand: tuple[NoteLine, ...] = ()
    alarms: tuple[AlarmFacts, ...] = ()
    """Standing, seen or not."""
    held: tuple[NoteLine, ...] = ()
    stopped: tuple[NoteLine, ...] = ()
    deviations: tuple[NoteLine, ...] = ()
    """Open ones."""
    coming: tuple[NoteLine, ...] = ()


class Handover(Model):
    """A note on record, and who took over."""

    number: int
    """Of the event that put it on record."""
    at: AwareDatetime
    by: CrewId
    text: str = ""
    note: HandoverNote
    taken_at: AwareDatetime | None = None
    taken_by: CrewId | None = None
