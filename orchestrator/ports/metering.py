"""What is counted while the kitchen is served; who counts, and for whom, is an adapter's business."""

from typing import Protocol


class Meter(Protocol):
    """Told of what happened. Cheap; called from any thread."""

    def answered(self, command: str, outcome: str, seconds: float) -> None:
        """A command was answered: its kind, ``accepted`` or the code of its refusal, and how long its sender waited."""

    def recorded(self, events: int) -> None:
        """So many events are on disk."""

    def readings_kept(self, count: int) -> None:
        """So many new readings are on disk."""

    def planned(self, effort: str, outcome: str, seconds: float) -> None:
        """A ``repair`` or ``full`` plan was ``answered``, ``failed`` or ``dropped``, so long after it was asked for."""


class Unmetered:
    """Counts nothing."""

    def answered(self, command: str, outcome: str, seconds: float) -> None:
        """Not counted."""

    def recorded(self, events: int) -> None:
        """Not counted."""

    def readings_kept(self, count: int) -> None:
        """Not counted."""

    def planned(self, effort: str, outcome: str, seconds: float) -> None:
        """Not counted."""
