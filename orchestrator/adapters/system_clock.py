"""The wall clock."""

from datetime import UTC, datetime


class SystemClock:
    """Implements `ports.clock.Clock`."""

    def now(self) -> datetime:
        """The present instant, in UTC."""
        return datetime.now(UTC)

    @property
    def rate(self) -> float:
        """Always 1."""
        return 1.0
