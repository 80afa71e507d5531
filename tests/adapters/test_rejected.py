"""Counting what is turned away takes bounded memory, whoever sends what."""

from datetime import UTC, datetime

from orchestrator.adapters.reading_payload import Reason, Rejection
from orchestrator.adapters.rejected import MOST_PROBES, OTHERS, count, count_repeats
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Reading
from orchestrator.ports.probes import RejectedCounts


def test_count_by_reason_probe_and_last() -> None:
    counts = RejectedCounts()
    count(counts, Rejection(Reason.ABSURD, "900 °C", "oven-air"))
    count(counts, Rejection(Reason.ABSURD, "901 °C", "oven-air"))
    count(counts, Rejection(Reason.STALE, "retained", ""))
    assert counts.by_reason == {"absurd": 2, "stale": 1}
    assert counts.by_probe == {"oven-air": 2, "(none)": 1}
    assert counts.last == {"absurd": "oven-air: 901 °C", "stale": "(none): retained"}


def test_count_repeats_as_duplicates() -> None:
    counts = RejectedCounts()
    at = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
    count_repeats(counts, [Reading(ProbeId("oven-air"), 160.0, at, at, 4)])
    assert counts.by_reason == {"duplicate": 1}
    assert counts.last == {"duplicate": "oven-air: measured at 2026-11-25T06:00:00+00:00, number 4: kept before"}


def test_count_many_invented_names_share_one_counter() -> None:
    counts = RejectedCounts()
    for number in range(5000):
        count(counts, Rejection(Reason.UNKNOWN_PROBE, "x" * 5000, f"{number}" + "y" * 5000))
    assert len(counts.by_probe) == MOST_PROBES + 1
    assert counts.by_probe[OTHERS] == 5000 - MOST_PROBES
    assert all(len(name) <= 80 for name in counts.by_probe)
    assert all(len(text) <= 200 for text in counts.last.values())
