"""When an entry counts as late: put on record long after it was done, as what was written on paper without power."""

from datetime import datetime, timedelta
from typing import Final

LATE_AFTER: Final = timedelta(minutes=15)
"""A figure of ours: taps queued by a screen that was offline for a moment are not meant."""
OLDEST_ON_PAPER: Final = timedelta(days=7)
"""What was written on paper longer ago is refused: the plan that it belonged to is gone."""


def is_late(done_at: datetime, recorded_at: datetime) -> bool:
    """Whether the record must say that it was entered late, with both times."""
    return recorded_at - done_at >= LATE_AFTER
