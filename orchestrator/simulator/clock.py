"""The clock as the simulation needs it: it can be sped up, stopped and sent ahead."""

from datetime import datetime
from typing import Protocol


class SettableClock(Protocol):
    """A clock that runs fast, stands still and jumps ahead."""

    def now(self) -> datetime:
        """The present instant, aware, in UTC."""

    @property
    def rate(self) -> float:
        """Kitchen seconds a real second; 0 while it stands."""

    def set_rate(self, rate: float) -> None:
        """Go that fast from now on; 0 stands still."""

    def jump(self, to: datetime) -> None:
        """Go on from that later instant. Raises: ValueError when it is past."""

    def grant(self, until: datetime) -> None:
        """Stand still at that instant unless more is granted before."""
