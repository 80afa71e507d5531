"""Payloads that are malformed, hostile or random, against the decoder and the consumer:

    python -m tests.adapters.hostile --count 1000000
    python -m tests.adapters.hostile --count 20000 --broker

Everything is drawn from a seed. Each payload is either a reading or counted under a reason; nothing may raise, and what
is kept may not grow. With ``--broker`` they travel through a real broker to the real consumer; without, they are handed
to the same consumer as its library would hand them over.
"""

import argparse
import asyncio
import json
import random
import sys
import time
import tracemalloc
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import aiomqtt
from aiomqtt.topic import Topic

from orchestrator.adapters.embedded_broker import EmbeddedBroker
from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_probes import MqttProbes
from orchestrator.adapters.reading_payload import LARGEST_PAYLOAD_BYTES
from orchestrator.adapters.rejected import MOST_PROBES
from orchestrator.adapters.system_clock import SystemClock
from orchestrator.core.models import Kitchen
from orchestrator.ports.event_log import Reading
from orchestrator.ports.probes import RejectedCounts
from tests.benchmarks.memory import peak_mb
from tests.fakes.kitchens import small_kitchen

MAPPINGS = (
    {"topic": "sensors/+/temp", "probe_level": 1, "celsius": ""},
    {"topic": "gateway/fridge", "probe": "fridge-air", "fahrenheit": "/data/t~1f/0", "measured_at": "/at", "seq": "/n"},
)
BATCH = 500


def hostile_kitchen() -> Kitchen:
    """The small kitchen, with thermometers that speak topics of their own."""
    return small_kitchen(mappings=MAPPINGS)


@dataclass(frozen=True, slots=True)
class Sent:
    """One message."""

    topic: str
    payload: bytes
    retained: bool


def topics(dice: random.Random) -> str:
    """Mostly ours, some of the kitchen's mappings, some that nobody knows."""
    text = "".join(chr(dice.choice((dice.randrange(32, 127), dice.randrange(160, 0x2FFF)))) for _ in range(12))
    text = text.translate({ord(mark): None for mark in "/+#"})  # in a topic that is published they may not be
    return dice.choice(
        (
            "coldwright/v1/probes/fridge-air/reading",
            "coldwright/v1/probes/hob-1-core/reading",
            "sensors/freezer-air/temp",
            "gateway/fridge",
            f"coldwright/v1/probes/{dice.randrange(10**6)}/reading",
            f"coldwright/v1/probes/{text}/reading",
            f"sensors/{text}/temp",
            "coldwright/v1/probes//reading",
        )
    )


def _good(dice: random.Random) -> dict[str, Any]:
    at = datetime.now(UTC) - timedelta(seconds=dice.uniform(0, 3600))
    return {"celsius": round(dice.uniform(-30, 110), 2), "measured_at": at.isoformat(), "seq": dice.randrange(10**6)}


_ODD: tuple[Any, ...] = (
    None, True, False, "", "4.2", [], {}, [[]], {"a": 1}, -0.0, 1e308, -1e308, 10**400, -(10**40), 5e-324, 2**63, 1e5,
    "2026-02-30T25:61:61Z", "9999-12-31T23:59:59-23:59", "0001-01-01T00:00:00+14:00", "2026-11-26 06:00", "\ud800",
    "\x00", "2099-01-01T00:00:00Z", "2001-01-01T00:00:00Z", "NaN", "٣٫٥",
    "2026-11-26T06:00:00Z" * 40, "²", "1_000", "0x1F", [4.2], {"celsius": 4.2},
)  # fmt: skip


def _odd_fields(dice: random.Random) -> bytes:
    body = _good(dice)
    for key in dice.sample(
        ["celsius", "fahrenheit", "measured_at", "seq", "battery_percent", "x"], dice.randrange(1, 4)
    ):
        body[key] = dice.choice(_ODD)
    if dice.random() < 0.3:
        body.pop("celsius", None)
    elif dice.random() < 0.1:
        body = {"celsius": 4.2, "measured_at": dice.choice(("2099-01-01T00:00:00Z", "2001-01-01T00:00:00Z"))}
    return json.dumps(body).encode("utf-8", "surrogatepass")


def _mutated(dice: random.Random) -> bytes:
    raw = bytearray(json.dumps(_good(dice)).encode())
    for _ in range(dice.randrange(1, 6)):
        where = dice.randrange(len(raw))
        act = dice.randrange(3)
        if act == 0:
            raw[where] = dice.randrange(256)
        elif act == 1:
            del raw[where : where + dice.randrange(1, 9)]
        else:
            raw[where:where] = dice.randbytes(dice.randrange(1, 9))
        if not raw:
            break
    return bytes(raw)


def _deep(dice: random.Random) -> bytes:
    depth = dice.randrange(1, LARGEST_PAYLOAD_BYTES // 2)
    opens, closes = dice.choice(((b"[", b"]"), (b'{"a":', b"}"), (b"[[[[", b"")))
    return (opens * depth + b"1" + closes * depth)[: LARGEST_PAYLOAD_BYTES * 2]


def _huge(dice: random.Random) -> bytes:
    return dice.choice((b"9", b"1e9", b" ", b"\xff", b'"', b"-")) * dice.randrange(1, LARGEST_PAYLOAD_BYTES * 2)


def _bare(dice: random.Random) -> bytes:
    words = (
        "NaN",
        "Infinity",
        "-Infinity",
        "-0",
        "1e400",
        "4,2",
        "4.2 ",
        "+4",
        ".5",
        "0x10",
        "null",
        "true",
        "1_0",
        "٤",
    )
    return dice.choice((*words, f"{dice.uniform(-200, 900):.3f}", "9" * dice.randrange(1, 6000))).encode()


def _mapped(dice: random.Random) -> bytes:
    body: dict[str, Any] = {"data": {"t/f": [dice.choice((39.5, dice.choice(_ODD)))]}, "at": dice.choice(_ODD), "n": 1}
    if dice.random() < 0.5:
        body["data"] = dice.choice(_ODD)
    return json.dumps(body).encode("utf-8", "surrogatepass")


KINDS: dict[str, Callable[[random.Random], bytes]] = {
    "random bytes": lambda dice: dice.randbytes(dice.randrange(200)),
    "odd fields": _odd_fields,
    "mutated": _mutated,
    "bare words": _bare,
    "mapped": _mapped,
    "good": lambda dice: json.dumps(_good(dice)).encode(),
    "deep": _deep,
    "huge": _huge,
}
WEIGHTS = (20, 25, 25, 10, 10, 8, 1, 1)
"""Deep and huge ones cost most to make, and are the same over and over."""


def messages(count: int, seed: int) -> Iterator[Sent]:
    """So many, always the same for a seed but for the time of day in the good ones."""
    dice, kinds = random.Random(seed), list(KINDS)
    for _ in range(count):
        kind = dice.choices(kinds, WEIGHTS)[0]
        yield Sent(topics(dice), KINDS[kind](dice), dice.random() < 0.03)


@dataclass
class Outcome:
    """What became of them."""

    sent: int = 0
    kept: int = 0
    counts: RejectedCounts = field(default_factory=RejectedCounts)
    kib: list[float] = field(default_factory=list)
    """Memory in use by our own objects, after each tenth of all."""
    seconds: float = 0.0

    @property
    def turned_away(self) -> int:
        """All that are no reading."""
        return sum(self.counts.by_reason.values())

    def check(self) -> None:
        """Everything is accounted for, in bounded memory, in words that can be shown. Raises: AssertionError."""
        assert self.kept + self.turned_away == self.sent, "some are neither kept nor counted"
        assert sum(self.counts.by_probe.values()) == self.turned_away
        assert len(self.counts.by_probe) <= MOST_PROBES + 1
        for text in self.counts.last.values():
            assert len(text) <= 200
            text.encode("utf-8")


def consumer(counts: RejectedCounts, url: str = "mqtt://127.0.0.1:1") -> MqttProbes:
    """The real one."""
    kitchen = hostile_kitchen()
    return MqttProbes(MqttAddress.parse(url), lambda: kitchen, SystemClock(), counts)


def straight(count: int, seed: int) -> Outcome:
    """Hand everything to the consumer as its library would, and watch its memory."""
    found, began = Outcome(), time.perf_counter()
    feed = consumer(found.counts)
    tracemalloc.start()
    batch: list[aiomqtt.Message] = []
    for sent in messages(count, seed):
        batch.append(aiomqtt.Message(Topic(sent.topic), sent.payload, 1, sent.retained, 1, None))
        found.sent += 1
        if len(batch) == min(BATCH, max(1, count // 10)) or found.sent == count:
            found.kept += len(feed._decode_all(batch))
            batch.clear()
            if found.sent * 10 // count > len(
                found.kib
            ):  # with no message on its way, so that only what is kept counts
                found.kib.append(tracemalloc.get_traced_memory()[0] / 1024)
    tracemalloc.stop()
    found.seconds = time.perf_counter() - began
    return found


async def through_broker(count: int, seed: int) -> Outcome:
    """The same through a real broker, from a stock client: what is kept and counted is waited for."""
    broker = EmbeddedBroker()
    broker.start()
    found, began = Outcome(), time.perf_counter()

    async def keep(readings: list[Reading]) -> None:
        found.kept += len(readings)

    feed = consumer(found.counts, broker.url())
    listening = asyncio.create_task(feed.run(keep))
    try:
        while not feed.connected:
            await asyncio.sleep(0.05)
        address = MqttAddress.parse(broker.url())
        async with aiomqtt.Client(**address.client_arguments()) as client:
            for sent in messages(count, seed):
                await client.publish(sent.topic, sent.payload, qos=1)  # kept ones would be sent to us again and again
                found.sent += 1
        while found.kept + found.turned_away < found.sent:
            await asyncio.sleep(0.1)
    finally:
        listening.cancel()
        with suppress(asyncio.CancelledError):
            await listening
        broker.stop()
    found.seconds = time.perf_counter() - began
    return found


def report(found: Outcome) -> str:
    """In words and numbers."""
    reasons = Counter(found.counts.by_reason).most_common()
    lines = [f"{found.sent} messages in {found.seconds:.0f} s: {found.kept} readings, {found.turned_away} turned away"]
    lines += [f"  {reason}: {count}" for reason, count in reasons]
    if found.kib:
        lines.append(f"memory in use after each tenth, KiB: {', '.join(f'{kib:.0f}' for kib in found.kib)}")
    peak = peak_mb()
    lines.append(f"most memory of the process: {peak:.0f} MB" if peak is not None else "memory not told here")
    return "\n".join(lines)


def main() -> int:
    """Run as asked; 1 when something is neither kept nor counted."""
    parser = argparse.ArgumentParser(prog="python -m tests.adapters.hostile", description=__doc__)
    parser.add_argument("--count", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--broker", action="store_true", help="through a real broker: a thousand times slower")
    asked = parser.parse_args()
    found = asyncio.run(through_broker(asked.count, asked.seed)) if asked.broker else straight(asked.count, asked.seed)
    print(report(found))
    try:
        found.check()
    except AssertionError as fault:
        print(f"FAILED: {fault}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
