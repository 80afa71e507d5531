"""Every readings store keeps this contract."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Keeping, Reading, ReadingsStore
from tests.fakes.event_logs import MemoryReadings

AT = datetime(2026, 11, 25, 6, 0, 0, 123457, tzinfo=UTC)
HOB = ProbeId("hob-1-core")


def own_time(minute: float, celsius: float = 60.0, seq: int | None = None, probe: ProbeId = HOB) -> Reading:
    """A reading that brings its own time."""
    measured = AT + timedelta(minutes=minute)
    return Reading(probe, celsius, measured, measured + timedelta(seconds=1), seq)


def stamped(minute: float, celsius: float = 60.0) -> Reading:
    """A bare number, stamped on receipt."""
    return Reading(HOB, celsius, AT + timedelta(minutes=minute), AT + timedelta(minutes=minute))


@pytest.fixture(params=["sqlite", "postgresql", "memory"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[ReadingsStore]:
    url = request.getfixturevalue("server").url() if request.param == "postgresql" else ""
    made: ReadingsStore = (
        MemoryReadings() if request.param == "memory" else SqlReadings(url or tmp_path / "readings.db")
    )
    yield made
    made.close()


def everything(store: ReadingsStore) -> list[Reading]:
    return list(store.between(HOB, AT - timedelta(days=9), AT + timedelta(days=9)))


def test_store_add_returns_and_keeps_new_ones_unrounded(store: ReadingsStore) -> None:
    reading = replace(own_time(0, 4.000000001, seq=7), battery_percent=81.5)
    assert list(store.add([reading])) == [reading]
    assert everything(store) == [reading]


def test_store_add_repeat_with_seq_is_kept_once(store: ReadingsStore) -> None:
    store.add([own_time(0, seq=7)])
    later = replace(own_time(0, seq=7), recorded_at=AT + timedelta(hours=1))
    assert list(store.add([later, own_time(1, seq=8)])) == [own_time(1, seq=8)]
    assert everything(store) == [own_time(0, seq=7), own_time(1, seq=8)]


def test_store_add_repeat_in_one_call_is_kept_once(store: ReadingsStore) -> None:
    assert list(store.add([own_time(0, seq=7), own_time(0, seq=7)])) == [own_time(0, seq=7)]


def test_store_add_same_time_other_seq_keeps_both(store: ReadingsStore) -> None:
    both = [own_time(0, 60.0, seq=7), own_time(0, 61.0, seq=8)]
    assert list(store.add(both)) == both
    assert everything(store) == both


def test_store_add_own_time_without_seq_repeated_is_kept_once(store: ReadingsStore) -> None:
    store.add([own_time(0)])
    assert list(store.add([own_time(0)])) == []


def test_store_add_bare_numbers_of_one_instant_are_never_repeats(store: ReadingsStore) -> None:
    store.add([stamped(0, 60.0)])
    assert list(store.add([stamped(0, 60.0), stamped(0, 60.0)])) == [stamped(0, 60.0), stamped(0, 60.0)]
    assert [r.seq for r in everything(store)] == [None, None, None]


def test_store_between_includes_both_ends_in_order(store: ReadingsStore) -> None:
    store.add([own_time(3), own_time(1), own_time(2), own_time(4)])
    found = store.between(HOB, AT + timedelta(minutes=1), AT + timedelta(minutes=3))
    assert list(found) == [own_time(1), own_time(2), own_time(3)]


def test_store_latest_is_newest_measured_of_every_probe(store: ReadingsStore) -> None:
    freezer = ProbeId("freezer-air")
    store.add([own_time(5), own_time(2), own_time(1, -18.0, probe=freezer)])
    assert store.latest() == {HOB: own_time(5), freezer: own_time(1, -18.0, probe=freezer)}


def test_store_empty_has_no_latest(store: ReadingsStore) -> None:
    assert store.latest() == {}
    assert everything(store) == []


PACKED = Keeping(loose=timedelta(days=1), exact=timedelta(days=9000))


def days_later(days: float) -> datetime:
    return AT + timedelta(days=days)


def test_store_tidy_changes_no_answer(store: ReadingsStore) -> None:
    freezer = ProbeId("freezer-air")
    kept = [own_time(hour * 60, 60 - hour / 7, seq=hour) for hour in range(100)]
    store.add([replace(kept[0], battery_percent=81.5), *kept[1:], stamped(30), stamped(30), own_time(3)])
    store.add([own_time(1, -18.0, probe=freezer)])
    before, latest = everything(store), store.latest()
    store.tidy(days_later(4), PACKED)
    assert everything(store) == before
    assert store.latest() == latest
    assert store.tidy(days_later(4), PACKED) == 0


def test_store_tidied_still_knows_repeats(store: ReadingsStore) -> None:
    store.add([own_time(0, seq=7), own_time(1), own_time(60 * 24 * 5, seq=8)])
    store.tidy(days_later(5), PACKED)
    assert list(store.add([own_time(0, seq=7), own_time(1)])) == []
    assert len(everything(store)) == 3


def test_store_tidied_takes_late_readings_in_their_order(store: ReadingsStore) -> None:
    store.add([own_time(0, seq=7), own_time(20, seq=9)])
    store.tidy(days_later(5), PACKED)
    late = own_time(10, 50.0, seq=8)
    assert list(store.add([late])) == [late]
    for _ in range(2):
        assert everything(store) == [own_time(0, seq=7), late, own_time(20, seq=9)]
        store.tidy(days_later(5), PACKED)


def test_store_tidy_lets_go_what_was_kept_long_enough(store: ReadingsStore) -> None:
    keeping = Keeping(loose=timedelta(days=1), exact=timedelta(days=3))
    store.add([own_time(0), own_time(60 * 24 * 4)])
    store.tidy(days_later(4), keeping)
    assert everything(store) == [own_time(60 * 24 * 4)]
    assert store.latest() == {HOB: own_time(60 * 24 * 4)}
