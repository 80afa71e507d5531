"""Acts from display processes to the one writer, and what the writer tells them besides its log."""

from collections.abc import Sequence
from typing import Protocol

from orchestrator.core.models.base import Model


class WriterSays(Model):
    """What stands in no log."""

    planning: bool = False
    better_plans: int = 0
    trouble: str = ""
    """Why nothing can be recorded; empty while it can."""
    rejected: dict[str, int] = {}
    rejected_last: dict[str, str] = {}
    broker_url: str = ""


class Relay(Protocol):
    """Between processes. Every method blocks and raises LogUnavailable when the other side cannot be reached."""

    def hand_in(self, command_id: str, body: str) -> None:
        """Put a command down as JSON. One of the same id that is there already is left as it is."""

    def outcome(self, command_id: str) -> str:
        """What became of it, as JSON; empty while nobody has answered."""

    def waiting(self) -> Sequence[tuple[str, str]]:
        """Ids and bodies of what nobody has answered yet, oldest first."""

    def answer(self, command_id: str, outcome: str) -> None:
        """Say what became of a command."""

    def say(self, said: WriterSays) -> None:
        """The writer lives, and says this."""

    def heard(self) -> tuple[float, WriterSays]:
        """How many seconds ago the writer last said something, and what; infinite where it never did."""

    def close(self) -> None:
        """Release the connections."""
