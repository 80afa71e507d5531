"""Times that a store was outside its band: two with no clear return between them are one."""

from datetime import datetime, timedelta

from orchestrator.core.models.probe_fact import Spell


def joined(before: Spell | None, over: Spell, out_since: datetime | None, *, too_warm_above: float) -> Spell:
    """What is over now, with the one before it where the store had not clearly come back, °C."""
    if before is None or out_since is None or before.since < out_since - timedelta(milliseconds=1):
        return over
    warm = over.worst_c > too_warm_above
    worst = max(before.worst_c, over.worst_c) if warm else min(before.worst_c, over.worst_c)
    return Spell(since=before.since, until=over.until, worst_c=worst)
