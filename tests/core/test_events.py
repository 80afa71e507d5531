"""Events as they stand in the log: what was written once must be read for ever."""

import json
from pathlib import Path
from typing import Any

import pytest

from orchestrator.core.events import EVENTS, Event
from tests.core.all_events import ALL_EVENTS

GOLDEN = Path(__file__).parent / "golden" / "events.json"
"""Written by the first version of each event. Never write it anew: add lines for new kinds or fields."""
ROWS: list[dict[str, Any]] = json.loads(GOLDEN.read_text(encoding="utf-8"))


@pytest.mark.parametrize("event", ALL_EVENTS, ids=lambda event: event.kind)
def test_event_through_json_and_back_is_the_same(event: Event) -> None:
    assert EVENTS.validate_json(EVENTS.dump_json(event)) == event


def lost(written: Any, read: Any, where: str) -> list[str]:
    """Where something written is not found again; new fields and their defaults are welcome."""
    if isinstance(written, dict):
        return [x for key in written for x in lost(written[key], read.get(key, "missing"), f"{where}.{key}")]
    if isinstance(written, list) and isinstance(read, list) and len(written) == len(read):
        return [
            x for i, (old, new) in enumerate(zip(written, read, strict=True)) for x in lost(old, new, f"{where}[{i}]")
        ]
    return [] if written == read else [f"{where}: {written!r} became {read!r}"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["kind"])
def test_golden_event_of_the_first_version_is_read_without_loss(row: dict[str, Any]) -> None:
    read = EVENTS.dump_python(EVENTS.validate_python(row), mode="json")
    assert lost(row, read, row["kind"]) == []


def test_golden_events_hold_every_kind() -> None:
    assert {row["kind"] for row in ROWS} == {event.kind for event in ALL_EVENTS}
