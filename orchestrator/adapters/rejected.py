"""Readings turned away, counted in bounded memory whatever is sent to us."""

from collections.abc import Sequence

from orchestrator.adapters.reading_payload import Reason, Rejection
from orchestrator.ports.event_log import Reading
from orchestrator.ports.probes import RejectedCounts

MOST_PROBES = 200
OTHERS = "(others)"


def count_repeats(counts: RejectedCounts, repeats: Sequence[Reading]) -> None:
    """Add readings that had been kept before."""
    for reading in repeats:
        number = "" if reading.seq is None else f", number {reading.seq}"
        text = f"measured at {reading.measured_at.isoformat()}{number}: kept before"
        count(counts, Rejection(Reason.DUPLICATE, text, reading.probe))


def count(counts: RejectedCounts, rejection: Rejection) -> None:
    """Add one; names beyond the first 200 share one counter."""
    reason = rejection.reason.value
    counts.by_reason[reason] = counts.by_reason.get(reason, 0) + 1
    probe = rejection.probe[:80] or "(none)"
    if probe not in counts.by_probe and len(counts.by_probe) >= MOST_PROBES:
        probe = OTHERS
    counts.by_probe[probe] = counts.by_probe.get(probe, 0) + 1
    counts.last[reason] = f"{probe}: {rejection.text}"[:200]
