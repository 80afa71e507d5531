"""From a message to a reading, or to why not; whatever arrives."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.adapters.reading_payload import Reason, Received, Rejection, decode, kitchen_instant, matches
from orchestrator.core.models import Kitchen
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import small_kitchen

NOW = datetime(2026, 11, 26, 6, 0, tzinfo=UTC)
RECEIVED = Received(NOW, NOW)
TOPIC = "coldwright/v1/probes/fridge-air/reading"
MAPPINGS = (
    {"topic": "sensors/+/temp", "probe_level": 1, "celsius": ""},
    {"topic": "gateway/fridge", "probe": "fridge-air", "fahrenheit": "/data/t~1f/0", "measured_at": "/at", "seq": "/n"},
)
KITCHEN: Kitchen = small_kitchen(mappings=MAPPINGS)


def read(payload: Any, topic: str = TOPIC, *, retained: bool = False) -> Reading | Rejection:
    raw = payload if isinstance(payload, bytes) else json.dumps(payload).encode()
    return decode(topic, raw, retained=retained, received=RECEIVED, kitchen=KITCHEN)


def reason(payload: Any, topic: str = TOPIC, *, retained: bool = False) -> Reason:
    rejected = read(payload, topic, retained=retained)
    assert isinstance(rejected, Rejection)
    return rejected.reason


@pytest.mark.parametrize("payload", [b"4.2", b" 4.2\n", b"42e-1"])
def test_decode_bare_number_is_celsius_stamped_on_receipt(payload: bytes) -> None:
    assert read(payload) == Reading("fridge-air", 4.2, NOW, NOW, None, None)  # type: ignore[arg-type]


def test_decode_full_document_keeps_both_times_seq_and_battery() -> None:
    document = {
        "celsius": -18.25,
        "measured_at": "2026-11-26T06:58:30+01:00",
        "seq": 17,
        "battery_percent": 80,
        "rssi": -60,
    }
    measured = NOW - timedelta(seconds=90)
    assert read(document) == Reading("fridge-air", -18.25, measured, NOW, 17, 80.0)  # type: ignore[arg-type]


def test_decode_fahrenheit_is_converted() -> None:
    # 40 °F = 40/9 °C and -40 °F = -40 °C, by the definition °C = (°F - 32) / 1.8.
    forty, same = read({"fahrenheit": 40}), read({"fahrenheit": -40})
    assert isinstance(forty, Reading)
    assert isinstance(same, Reading)
    assert forty.celsius == pytest.approx(40 / 9)
    assert same.celsius == -40.0


@pytest.mark.parametrize(
    ("payload", "expected"),
    [
        (b"", Reason.MALFORMED),
        (b"warm", Reason.MALFORMED),
        (b"NaN", Reason.MALFORMED),
        (b"-Infinity", Reason.MALFORMED),
        (b'{"celsius": NaN}', Reason.MALFORMED),
        (b"\xff\xfe4.2", Reason.MALFORMED),
        (b"[" * 5000, Reason.MALFORMED),
        (b"9" * 5000, Reason.MALFORMED),
        (b"null", Reason.MALFORMED),
        (b"true", Reason.MALFORMED),
        (b'"4.2"', Reason.MALFORMED),
        (b"[4.2]", Reason.MALFORMED),
        (b"{}", Reason.MALFORMED),
        ({"celsius": 4, "fahrenheit": 39.2}, Reason.MALFORMED),
        ({"celsius": "4"}, Reason.MALFORMED),
        ({"celsius": 4, "seq": -1}, Reason.MALFORMED),
        ({"celsius": 4, "seq": "a"}, Reason.MALFORMED),
        ({"celsius": 4, "seq": 2**70}, Reason.MALFORMED),
        ({"celsius": 4, "measured_at": "yesterday"}, Reason.MALFORMED),
        ({"celsius": 4, "measured_at": "2026-11-26T06:00:00"}, Reason.MALFORMED),
        ({"celsius": 4, "measured_at": "2026-11-26"}, Reason.MALFORMED),
        ({"celsius": 4, "measured_at": 1_790_000_000}, Reason.MALFORMED),
        (b" " * 20_000 + b"4.2", Reason.OVERSIZED),
        (b"1e999", Reason.ABSURD),
        (b"-80.1", Reason.ABSURD),
        (b"400.5", Reason.ABSURD),
        (b"9" * 400, Reason.ABSURD),
        ({"celsius": 4, "measured_at": "2026-11-25T05:59:59Z"}, Reason.STALE),
        ({"celsius": 4, "measured_at": "0001-01-01T00:00:00+14:00"}, Reason.STALE),
        ({"celsius": 4, "measured_at": "2026-11-27T06:00:01Z"}, Reason.FUTURE),
        ({"celsius": 4, "measured_at": "9999-12-31T23:59:59-14:00"}, Reason.FUTURE),
    ],
)
def test_decode_what_is_no_reading_is_rejected_with_its_reason(payload: Any, expected: Reason) -> None:
    assert reason(payload) is expected


def test_decode_bounds_themselves_are_accepted() -> None:
    for celsius in (-80, 400):
        found = read({"celsius": celsius})
        assert isinstance(found, Reading)
        assert found.celsius == celsius
    for measured_at in ("2026-11-25T06:00:00Z", "2026-11-26T06:02:00Z", "2026-11-27T06:00:00Z"):
        found = read({"celsius": 4, "measured_at": measured_at})
        assert isinstance(found, Reading)
        assert found.celsius == 4


def test_decode_reading_ahead_of_the_kitchens_clock_keeps_both_times_and_is_judged_by_when_it_came() -> None:
    reading = read({"celsius": 4, "measured_at": "2026-11-26T07:00:00Z"})
    assert isinstance(reading, Reading)
    assert (reading.measured_at, reading.recorded_at) == (NOW + timedelta(hours=1), NOW)
    assert (reading.ahead, reading.judged_at) == (True, NOW)
    near = read({"celsius": 4, "measured_at": "2026-11-26T06:02:00Z"})
    assert isinstance(near, Reading)
    assert (near.ahead, near.judged_at) == (False, near.measured_at)


def test_decode_battery_that_cannot_be_is_dropped_and_reading_kept() -> None:
    reading = read({"celsius": 4, "battery_percent": "full"})
    assert isinstance(reading, Reading)
    assert reading.battery_percent is None


def test_decode_retained_is_stale() -> None:
    assert reason(b"4.2", retained=True) is Reason.STALE


@pytest.mark.parametrize("topic", ["coldwright/v1/probes/nobody/reading", "other/topic", "sensors/nobody/temp", ""])
def test_decode_unknown_probe_or_topic_is_rejected(topic: str) -> None:
    assert reason(b"4.2", topic) is Reason.UNKNOWN_PROBE


def test_decode_mapping_names_probe_by_level_and_takes_whole_payload() -> None:
    assert read(b"4.5", "sensors/fridge-air/temp") == Reading("fridge-air", 4.5, NOW, NOW)  # type: ignore[arg-type]
    assert read(b'"4.5"', "sensors/fridge-air/temp") == Reading("fridge-air", 4.5, NOW, NOW)  # type: ignore[arg-type]


def test_decode_mapping_reads_by_json_pointer_in_its_unit() -> None:
    # RFC 6901, section 3: "~1" stands for "/" in a pointer; section 4: array elements by index.
    document = {"data": {"t/f": [32]}, "at": "2026-11-26T05:59:00Z", "n": 5}
    measured = NOW - timedelta(minutes=1)
    assert read(document, "gateway/fridge") == Reading("fridge-air", 0.0, measured, NOW, 5)  # type: ignore[arg-type]


@pytest.mark.parametrize("document", [{}, {"data": {"t/f": []}}, {"data": 4}, 4.2, [1]])
def test_decode_mapping_finds_nothing_is_malformed(document: Any) -> None:
    assert reason(document, "gateway/fridge") is Reason.MALFORMED


@pytest.mark.parametrize(
    ("topic_filter", "topic", "expected"),
    [
        # Examples of OASIS MQTT 3.1.1, sections 4.7.1 and 4.7.2.
        ("sport/tennis/player1/#", "sport/tennis/player1", True),
        ("sport/tennis/player1/#", "sport/tennis/player1/ranking", True),
        ("sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", True),
        ("sport/#", "sport", True),
        ("#", "sport/tennis", True),
        ("sport/tennis/+", "sport/tennis/player1", True),
        ("sport/tennis/+", "sport/tennis/player1/ranking", False),
        ("sport/+", "sport", False),
        ("sport/+", "sport/", True),
        ("+/+", "/finance", True),
        ("/+", "/finance", True),
        ("+", "/finance", False),
        ("#", "$SYS/monitor/Clients", False),
        ("+/monitor/Clients", "$SYS/monitor/Clients", False),
        ("$SYS/#", "$SYS/monitor/Clients", True),
    ],
)
def test_matches_as_in_the_standard(topic_filter: str, topic: str, expected: bool) -> None:
    assert matches(topic_filter, topic) is expected


WALL = datetime(2026, 12, 24, 12, 0, tzinfo=UTC)


def test_demo_clock_kitchen_time_is_taken_as_it_stands() -> None:
    received = Received(NOW, WALL, 60.0)
    assert kitchen_instant(NOW - timedelta(seconds=90), received) == NOW - timedelta(seconds=90)
    assert kitchen_instant(NOW - timedelta(hours=5), received) == NOW - timedelta(hours=5)


def test_demo_clock_real_time_becomes_kitchen_time_by_its_age_times_the_rate() -> None:
    received = Received(NOW, WALL, 60.0)
    assert kitchen_instant(WALL - timedelta(seconds=3), received) == NOW - timedelta(minutes=3)
    assert kitchen_instant(WALL + timedelta(seconds=3), received) == NOW
    assert kitchen_instant(WALL - timedelta(seconds=3), Received(NOW, WALL, 0.0)) == NOW


def test_real_kitchen_late_reading_keeps_its_own_time() -> None:
    assert kitchen_instant(NOW - timedelta(hours=3), RECEIVED) == NOW - timedelta(hours=3)


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["celsius", "fahrenheit", "measured_at", "seq", "battery_percent", "data", "at"])
            | st.text(),
            inner,
            max_size=5,
        )
    ),
    max_leaves=12,
)
_PAYLOADS = st.binary(max_size=300) | _JSON.map(lambda value: json.dumps(value).encode())
_TOPICS = st.sampled_from([TOPIC, "gateway/fridge", "sensors/fridge-air/temp"]) | st.text(max_size=60)


@given(_TOPICS, _PAYLOADS, st.booleans(), st.floats(0, 5000))
def test_decode_never_raises_and_never_accepts_nonsense(
    topic: str, payload: bytes, retained: bool, rate: float
) -> None:
    received = Received(NOW, WALL, rate)
    result = decode(topic, payload, retained=retained, received=received, kitchen=KITCHEN)
    if isinstance(result, Rejection):
        assert result.text
        return
    assert not retained
    assert -80 <= result.celsius <= 400
    assert NOW - timedelta(hours=24) <= result.measured_at <= NOW + timedelta(minutes=2)
    assert result.probe in {probe.id for probe in KITCHEN.probes}
    assert result.seq is None or result.seq >= 0


@given(st.dictionaries(st.sampled_from(["celsius", "measured_at", "seq"]), _JSON, min_size=1))
def test_decode_documents_of_our_shape_never_raise(document: dict[str, Any]) -> None:
    assert isinstance(read(document), Reading | Rejection)
