"""What every command carries."""

from pydantic import Field

from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.models.base import Instant, Model


class BaseCommand(Model):
    """A command of anybody: an id made by its sender, who acts, and when."""

    command_id: CommandId = Field(min_length=1, max_length=100)
    person: CrewId | None = None
    """Who acts; none for probes, timers and the planner."""
    tapped_at: Instant | None = None
    """When it was done by the sender's clock, if that differs from arrival (taps queued offline)."""
    from_paper: bool = False
    """It was written on paper, and is entered late: ``tapped_at`` may be days ago."""
