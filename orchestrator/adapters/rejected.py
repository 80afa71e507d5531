"""Readings turned away, counted in bounded memory whatever is sent to us."""

from orchestrator.adapters.reading_payload import Rejection
from orchestrator.ports.probes import RejectedCounts

MOST_PROBES = 200
OTHERS = "(others)"


def count(counts: RejectedCounts, rejection: Rejection) -> None:
    """Add one; names beyond the first 200 share one counter."""
    reason = rejection.reason.value
    counts.by_reason[reason] = counts.by_reason.get(reason, 0) + 1
    probe = rejection.probe[:80] or "(none)"
    if probe not in counts.by_probe and len(counts.by_probe) >= MOST_PROBES:
        probe = OTHERS
    counts.by_probe[probe] = counts.by_probe.get(probe, 0) + 1
    counts.last[reason] = f"{probe}: {rejection.text}"[:200]
