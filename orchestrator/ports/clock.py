"""The one clock. All time inside the program comes from here, as an argument called ``now``."""

from datetime import datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """Tells the kitchen's time, which in a demo or a test need not be the wall's."""

    def now(self) -> datetime:
        """The present instant, aware, in UTC."""

    @property
    def rate(self) -> float:
        """Kitchen seconds a real second: 1 in a real kitchen, 0 while paused."""


class Timers(Protocol):
    """One armed timer."""

    def arm(self, at: datetime | None) -> None:
        """Call back at that instant of the clock, or never; replaces what was armed before."""

    def arm_in(self, span: timedelta) -> None:
        """Call back when so much time has passed, whatever somebody sets the clock to meanwhile; replaces the same."""

    def close(self) -> None:
        """Disarm for good."""
