"""From an MQTT message to a reading, or to the reason why it is none. Pure, and never raises."""

import json
import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any, Final

from jsonpointer import JsonPointer, JsonPointerException

from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen, TopicMapping
from orchestrator.core.plan_index import kitchen_index
from orchestrator.ports.event_log import AHEAD, Reading

TOPIC: Final = "coldwright/v1/probes/{probe}/reading"
TOPIC_FILTER: Final = "coldwright/v1/probes/+/reading"
LARGEST_PAYLOAD_BYTES: Final = 16_384
COLDEST_C: Final = -80.0
HOTTEST_C: Final = 400.0
"""No thermometer of a kitchen is colder or hotter than these; a broken one is."""
OLDEST: Final = timedelta(hours=24)
"""A backlog up to this old is kept as history; what is older says nothing about this day's work."""
FARTHEST_AHEAD: Final = timedelta(hours=24)
"""A reading so far ahead of our clock is kept, and judged by when it came (`Reading.ahead`): ours may have been set
back, and the temperature is a temperature. Beyond that, a clock says nothing."""
_LARGEST_SEQ = 2**62


class Reason(StrEnum):
    """Why a reading is turned away; also the key under which it is counted."""

    MALFORMED = "malformed"
    OVERSIZED = "oversized"
    ABSURD = "absurd"
    STALE = "stale"
    FUTURE = "future"
    UNKNOWN_PROBE = "unknown probe"
    DUPLICATE = "duplicate"


@dataclass(frozen=True, slots=True)
class Rejection:
    """A message that is no reading."""

    reason: Reason
    text: str
    """For people: what was wrong with it."""
    probe: str = ""
    """As far as it was named."""


@dataclass(frozen=True, slots=True)
class Received:
    """The moment of receipt, by both clocks; they differ only under a demo clock."""

    kitchen: datetime
    wall: datetime
    rate: float = 1.0


class _Bad(Exception):
    def __init__(self, reason: Reason, text: str) -> None:
        super().__init__(text)
        self.reason = reason


def decode(topic: str, payload: bytes, *, retained: bool, received: Received, kitchen: Kitchen) -> Reading | Rejection:
    """Understand one message.

    Our own topic is ``coldwright/v1/probes/<probe>/reading``; its payload is a bare number of degrees Celsius,
    stamped on receipt, or a JSON object with ``celsius`` or ``fahrenheit`` and optionally ``measured_at``
    (RFC 3339), ``seq`` and ``battery_percent``; other keys are ignored. Other topics are understood by the
    kitchen's mappings.

    Returns:
        A Reading in degrees Celsius, or a Rejection that says why not.
    """
    probe = ""
    try:
        if len(payload) > LARGEST_PAYLOAD_BYTES:
            raise _Bad(Reason.OVERSIZED, f"{len(payload)} bytes, at most {LARGEST_PAYLOAD_BYTES} are read")
        probe, mapping = _probe_of(topic, kitchen.mappings)
        if probe not in kitchen_index(kitchen).probes:
            raise _Bad(Reason.UNKNOWN_PROBE, f"the kitchen has no probe {probe[:80]!r}")
        if retained:
            raise _Bad(Reason.STALE, "a retained message: it may have been measured at any time")
        document = _document(payload)
        return _reading(ProbeId(probe), document, mapping, received)
    except _Bad as bad:
        return Rejection(bad.reason, str(bad), probe)


def _probe_of(topic: str, mappings: tuple[TopicMapping, ...]) -> tuple[str, TopicMapping | None]:
    levels = topic.split("/")
    if levels[:3] == ["coldwright", "v1", "probes"] and len(levels) == 5 and levels[4] == "reading":
        return levels[3], None
    for mapping in mappings:
        if not matches(mapping.topic, topic):
            continue
        if mapping.probe is not None:
            return mapping.probe, mapping
        if mapping.probe_level is not None and 0 <= mapping.probe_level < len(levels):
            return levels[mapping.probe_level], mapping
    raise _Bad(Reason.UNKNOWN_PROBE, f"no mapping fits the topic {topic[:120]!r}")


def matches(topic_filter: str, topic: str) -> bool:
    """Whether an MQTT topic filter takes in a topic.

    Source: OASIS MQTT 3.1.1, section 4.7 (``+`` is one level, ``#`` the rest and the level above it; neither
    takes in topics that begin with ``$``).
    """
    wanted, levels = topic_filter.split("/"), topic.split("/")
    if levels[0].startswith("$") and wanted[0] in ("+", "#"):
        return False
    for number, level in enumerate(wanted):
        if level == "#":
            return True
        if number >= len(levels) or level not in ("+", levels[number]):
            return False
    return len(wanted) == len(levels)


def _document(payload: bytes) -> Any:
    try:
        return _DECODER.decode(payload.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise _Bad(Reason.MALFORMED, f"neither a number nor JSON: {payload[:60]!r}") from error


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is not JSON")  # RFC 8259, section 6: Infinity and NaN are not permitted


_DECODER: Final = json.JSONDecoder(parse_constant=_no_constant)
"""One for all: ``json.loads`` with a rule of its own makes one for each message, which refers to itself and stays until
the collector comes by."""


def _reading(probe: ProbeId, document: Any, mapping: TopicMapping | None, received: Received) -> Reading:
    if mapping is not None:
        document = _mapped(document, mapping)
    elif not isinstance(document, dict):
        document = {"celsius": document}
    celsius = _celsius(document)
    if not COLDEST_C <= celsius <= HOTTEST_C:
        raise _Bad(Reason.ABSURD, f"{celsius:.6g} °C is no temperature of a kitchen")
    return Reading(
        probe=probe,
        celsius=celsius,
        measured_at=_measured_at(document.get("measured_at"), received),
        recorded_at=received.kitchen,
        seq=_seq(document.get("seq")),
        battery_percent=_battery(document.get("battery_percent")),
    )


def _mapped(document: Any, mapping: TopicMapping) -> dict[str, Any]:
    """The fields of a foreign document under our names."""
    found: dict[str, Any] = {}
    for name in ("celsius", "fahrenheit", "measured_at", "seq"):
        pointer = getattr(mapping, name)
        if pointer is None:
            continue
        try:
            value = JsonPointer(pointer).resolve(document)
        except (JsonPointerException, TypeError) as error:
            if name in ("celsius", "fahrenheit"):
                raise _Bad(Reason.MALFORMED, f"nothing at {pointer!r}") from error
            continue
        found[name] = _number_in(value) if name in ("celsius", "fahrenheit") else value
    return found


def _number_in(value: Any) -> Any:
    """Foreign thermometers write numbers as text, too."""
    if isinstance(value, str):
        try:
            return float(value)
        except ValueError:
            return value
    return value


def _celsius(document: dict[str, Any]) -> float:
    named = [name for name in ("celsius", "fahrenheit") if document.get(name) is not None]
    if len(named) != 1:
        raise _Bad(Reason.MALFORMED, "give one of celsius and fahrenheit")
    value = document[named[0]]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _Bad(Reason.MALFORMED, f"{named[0]} is not a number: {str(value)[:40]!r}")
    if (isinstance(value, int) and abs(value) > 10**6) or not math.isfinite(value):
        raise _Bad(Reason.ABSURD, f"{str(value)[:40]} is no temperature of a kitchen")
    return float(value) if named[0] == "celsius" else (float(value) - 32.0) / 1.8


def _seq(value: Any) -> int | None:
    if value is None:
        return None
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= _LARGEST_SEQ:
        raise _Bad(Reason.MALFORMED, f"seq is not a whole number from 0: {str(value)[:40]!r}")
    return value


def _battery(value: Any) -> float | None:
    """A courtesy: one that cannot be is dropped, and the reading is kept."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 100:
        return None
    return float(value)


def _measured_at(value: Any, received: Received) -> datetime:
    if value is None:
        return received.kitchen
    if not isinstance(value, str):
        raise _Bad(Reason.MALFORMED, f"measured_at is not RFC 3339 text: {str(value)[:40]!r}")
    try:
        instant = datetime.fromisoformat(value.upper())
    except ValueError as error:
        raise _Bad(Reason.MALFORMED, f"measured_at is not RFC 3339: {value[:40]!r}") from error
    if instant.tzinfo is None or "T" not in value.upper().replace(" ", "T"):
        raise _Bad(Reason.MALFORMED, f"measured_at has no time or no offset from UTC: {value[:40]!r}")
    try:
        return _in_time(kitchen_instant(instant.astimezone(UTC), received), received)
    except OverflowError as error:
        reason = Reason.STALE if instant.year < received.wall.year else Reason.FUTURE
        raise _Bad(reason, f"measured_at is out of all time: {value[:40]!r}") from error


def kitchen_instant(measured_at: datetime, received: Received) -> datetime:
    """Put a thermometer's own time on the kitchen's clock.

    The rule under a demo clock: a time within 2 min of the kitchen's clock is the kitchen's time. Any other
    that lies within 2 min of the wall clock was measured by a real thermometer so many real seconds ago; it
    becomes so many kitchen seconds ago: received − age × rate. All else is taken as it stands.
    """
    if abs(measured_at - received.kitchen) <= AHEAD or abs(measured_at - received.wall) > AHEAD:
        return measured_at
    age = max(received.wall - measured_at, timedelta())
    return received.kitchen - age * received.rate


def _in_time(instant: datetime, received: Received) -> datetime:
    if instant > received.kitchen + FARTHEST_AHEAD:
        raise _Bad(Reason.FUTURE, f"measured at {instant.isoformat()}, more than 24 h from now")
    if instant < received.kitchen - OLDEST:
        raise _Bad(Reason.STALE, f"measured at {instant.isoformat()}, more than 24 h ago")
    return instant
