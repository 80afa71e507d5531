"""The crew for programs: who is here and who is missed, absences of today, shifts more."""

from pydantic import AwareDatetime, Field, StrictBool

from display.api.handing_in import Handed, kitchen_of
from display.api.reading import Query
from orchestrator.core.attendance import not_come
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import Model, Shift
from orchestrator.core.models.base import Instant
from orchestrator.core.models.change_crew import Absent, ExtraShift
from orchestrator.core.recipe_commands import ComeIn, GoHome
from orchestrator.gateway.door import Gateway, Snapshot


class PersonTold(Model):
    """One of the crew."""

    id: CrewId
    name: str
    manager: bool
    skills: tuple[str, ...]
    here_since: AwareDatetime | None
    """As they said themselves; none: they have not said that they are here."""
    missed: Shift | None
    """The shift that has begun without their saying so."""
    shifts: tuple[Shift, ...]
    """That are not over."""


def crew(gateway: Gateway, _: dict[str, str], __: Query) -> list[PersonTold]:
    """Everybody. Raises: NotThere."""
    snapshot = gateway.snapshot()
    kitchen, book, now = kitchen_of(snapshot), snapshot.state.attendance, snapshot.now
    missed = {member.id: shift for member, shift in not_come(kitchen, book, now)}
    return [
        PersonTold(
            id=member.id,
            name=member.name,
            manager=member.manager,
            skills=tuple(sorted(member.skills)),
            here_since=book.since(member.id, now),
            missed=missed.get(member.id),
            shifts=tuple(shift for shift in member.shifts if shift.end > now),
        )
        for member in kitchen.crew
    ]


class Presence(Model):
    """Somebody says that they are here, or that they leave."""

    command_id: CommandId = Field(min_length=1, max_length=100)
    """Made by the sender; sending the same again is harmless."""
    person: CrewId
    here: StrictBool


def said(_: Snapshot, body: Presence) -> ComeIn | GoHome:
    """The command that the body stands for."""
    kind = ComeIn if body.here else GoHome
    return kind(command_id=body.command_id, person=body.person)


class Span(Handed):
    """From when to when, for one of the crew."""

    crew: CrewId
    start: Instant
    end: Instant


def away(_: Snapshot, body: Span) -> ChangeKitchen | Refusal:
    """Somebody is away: a plan without them follows."""
    return body.as_change((Absent(crew=body.crew, start=body.start, end=body.end),))


def comes_as_well(_: Snapshot, body: Span) -> ChangeKitchen | Refusal:
    """Somebody is there as well."""
    return body.as_change((ExtraShift(crew=body.crew, start=body.start, end=body.end),))
