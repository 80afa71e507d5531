"""What everything handed in has in common: who hands it in, under which id, and on what it is based."""

from collections.abc import Sequence

from pydantic import Field

from display.api.reading import NotThere
from orchestrator.core.changes_refusals import unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId, StationId
from orchestrator.core.kitchen_commands import Basis, ChangeKitchen
from orchestrator.core.models import Kitchen, Model
from orchestrator.core.models.change import Change
from orchestrator.gateway.door import Snapshot


class Handed(Model):
    """In the name of somebody who may."""

    command_id: CommandId = Field(min_length=1, max_length=100)
    """Made by the sender; sending the same again is harmless."""
    person: CrewId
    reason: str = Field(default="", max_length=500)
    based_on: Basis | None = None
    """As a what-if handed it out: refused once the kitchen has moved since."""

    def as_change(self, changes: Sequence[Change]) -> ChangeKitchen:
        """The command that carries these changes out."""
        return ChangeKitchen(
            command_id=self.command_id,
            person=self.person,
            changes=tuple(changes),
            reason=self.reason,
            based_on=self.based_on,
        )


def kitchen_of(snapshot: Snapshot) -> Kitchen:
    """The kitchen. Raises: NotThere."""
    if snapshot.state.kitchen is None:
        raise NotThere("no kitchen has been taken over yet")
    return snapshot.state.kitchen


def known_station(kitchen: Kitchen, station: StationId) -> Refusal | None:
    """Why a station cannot be meant; none when there is such a one."""
    names = [one.id for one in kitchen.stations]
    return None if station in names else unknown("station", station, names)
