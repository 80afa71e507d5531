"""From a tap and from a reading to fifty screens, beside a bare broker; and what open screens cost the service.

The service runs in a process of its own (`screens_service`), with its log, broker and readings; each
screen is a connection of its own. Beside every tap and reading, in turn, a message goes through the service's own
broker to as many bare subscribers: less cannot be done. All instants are taken in this one process.
"""

import asyncio
import contextlib
import json
import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final
from uuid import uuid4

import aiomqtt
import httpx

from orchestrator.adapters.mqtt_address import MqttAddress
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.loop_stall import quantile
from tests.benchmarks.markdown import number, table
from tests.benchmarks.screen_clients import Screen, screens
from tests.benchmarks.screens_service import COOKED, PERSON, PROBE

SHOWING: Final = (0, 0, 0, 0, 0, 0, 1, 1, 2)
"""Pages that show the probe: all of `screen_clients.PAGES` but the board."""
WATCHING: Final = 50
OPEN: Final = (1, 50, 200)
OTHERS: Final = ("fridge-air", "freezer-air", "blast-air", "oven-air", "hob-2-core", "ice-bath-core")
EVERY_S: Final = 5.0
"""Between readings of one of the other probes, while anything is measured."""
APART_S: Final = (0.3, 0.9)
"""Between two that are measured, drawn from a seed: so that they do not always meet the pace of renderings alike."""
LONGEST_S: Final = 10.0
_TICKS_A_S: Final = os.sysconf("SC_CLK_TCK")


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """Latencies once, and the cost of open screens at each number of them."""
    times, seconds = (200, 60.0) if full else (30, 10.0)
    latency = Measurement(f"latency, {times} each", 30 + times * 4.0, partial(_run, _latencies, times))
    return (
        latency,
        *(Measurement(f"{n} open, {seconds:g} s", 30 + seconds, partial(_run, _open, n, seconds)) for n in OPEN),
    )


def _run(measure: Any, *how: Any) -> Figures:
    async def whole() -> Figures:
        async with service() as running:
            found: Figures = await measure(running, *how)
            return found

    return asyncio.run(whole())


class Service:
    """The kitchen's process, and the ways in that people and thermometers have."""

    def __init__(self, process: asyncio.subprocess.Process, url: str, broker: str) -> None:
        self.pid = process.pid
        self.url = url
        self.broker = MqttAddress.parse(broker).client_arguments()
        self.http = httpx.AsyncClient(base_url=url, timeout=LONGEST_S)

    async def tap(self, celsius: float) -> int:
        """A temperature by hand, on disk when it returns. Returns: the number of its event."""
        act = {"kind": "enter_temperature", "task": COOKED, "celsius": celsius, "person": PERSON}
        answer = await self.http.post("/api/v1/commands", json={"command_id": uuid4().hex, **act})
        answer.raise_for_status()
        return int(answer.json()["seq"])

    def cpu_s(self) -> float:
        """Of the processor, since it began; its broker apart."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / _TICKS_A_S

    def mb(self) -> float:
        """Resident now."""
        lines = Path(f"/proc/{self.pid}/status").read_text().splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


@contextlib.asynccontextmanager
async def service() -> AsyncIterator[Service]:
    """One for as long as the block lasts."""
    with tempfile.TemporaryDirectory() as folder:
        process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tests.benchmarks.screens_service", folder,
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
        )  # fmt: skip
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            told = json.loads(await asyncio.wait_for(process.stdout.readline(), 180.0))
            running = Service(process, told["url"], told["broker"])
            async with running.http:
                yield running
        finally:
            process.stdin.close()
            await asyncio.wait_for(process.wait(), 60.0)


@contextlib.asynccontextmanager
async def opened(running: Service, wanted: list[Screen]) -> AsyncIterator[list[Screen]]:
    """Screens, open and up to date."""
    try:
        for screen in wanted:
            await screen.open(running.url)
        await asyncio.sleep(1.0)
        yield wanted
    finally:
        for screen in wanted:
            await screen.close()


@contextlib.asynccontextmanager
async def subscribed(running: Service, count: int, into: list[float]) -> AsyncIterator[str]:
    """Bare subscribers with a connection each, which note when they hear; the topic to publish to."""
    topic = "bench/bare"

    async def listen(client: aiomqtt.Client) -> None:
        async for _ in client.messages:
            into.append(time.perf_counter())

    async with contextlib.AsyncExitStack() as ends:
        for _ in range(count):
            client = await ends.enter_async_context(aiomqtt.Client(**running.broker))
            await client.subscribe(topic, qos=1)
            task = asyncio.create_task(listen(client))
            ends.callback(task.cancel)
        yield topic


async def _usual_traffic(client: aiomqtt.Client) -> None:
    """The other probes, each every few seconds."""
    count = 0
    while True:
        count += 1
        probe = OTHERS[count % len(OTHERS)]
        celsius = {"fridge-air": 3.0, "oven-air": 20.0, "hob-2-core": 20.0, "ice-bath-core": 2.0}.get(probe, -20.0)
        await client.publish(f"coldwright/v1/probes/{probe}/reading", f"{celsius + count % 3 / 10:.1f}", qos=1)
        await asyncio.sleep(EVERY_S / len(OTHERS))


async def _latencies(running: Service, times: int) -> Figures:
    heard: list[float] = []
    chance = random.Random(1)
    found: dict[str, list[float]] = {"bare": [], "bare one": [], "answer": [], "tap": [], "reading": []}
    async with (
        opened(running, screens(WATCHING, SHOWING)) as watching,
        subscribed(running, WATCHING, heard) as topic,
        aiomqtt.Client(**running.broker) as client,
    ):
        usual = asyncio.create_task(_usual_traffic(client))
        for count in range(times):
            celsius = 58.1 + count / 10
            await asyncio.sleep(chance.uniform(*APART_S))
            bare = await _bare(client, topic, heard)
            found["bare"] += bare
            found["bare one"].append(bare[0])
            await asyncio.sleep(chance.uniform(*APART_S))
            await _tapped(running, watching, celsius, found)
            await asyncio.sleep(chance.uniform(*APART_S))
            found["reading"] += await _read(client, watching, celsius)
        usual.cancel()
    return {"kind": "latency", **{name: both(values) for name, values in found.items()}, "times": times}


async def _bare(client: aiomqtt.Client, topic: str, heard: list[float]) -> list[float]:
    heard.clear()
    began = time.perf_counter()
    await client.publish(topic, b"1", qos=1)
    await until(lambda: len(heard) == WATCHING, "bare subscribers did not hear")
    return [(at - began) * 1000 for at in heard]


async def _tapped(running: Service, watching: Sequence[Screen], celsius: float, into: dict[str, list[float]]) -> None:
    began = time.perf_counter()
    seq = await running.tap(celsius)
    into["answer"].append((time.perf_counter() - began) * 1000)
    await until(lambda: all(s.told_of(seq) is not None for s in watching), f"screens were not told of event {seq}")
    into["tap"] += [(at - began) * 1000 for s in watching if (at := s.told_of(seq)) is not None]


async def _read(client: aiomqtt.Client, watching: Sequence[Screen], celsius: float) -> list[float]:
    told = f"{celsius:.1f}"
    for screen in watching:
        screen.look_for(*(f'\\">{text}'.encode() for text in (told, told.replace(".", ","))))
    began = time.perf_counter()
    await client.publish(f"coldwright/v1/probes/{PROBE}/reading", told, qos=1)
    await until(lambda: all(s.showed is not None for s in watching), f"screens do not show {told}")
    return [(s.showed - began) * 1000 for s in watching if s.showed is not None]


async def until(fulfilled: Any, otherwise: str) -> None:
    """Wait, looking every millisecond. Raises: TimeoutError."""
    deadline = time.perf_counter() + LONGEST_S
    while not fulfilled():
        if time.perf_counter() > deadline:
            raise TimeoutError(f"{otherwise} within {LONGEST_S:g} s")
        await asyncio.sleep(0.001)


async def _open(running: Service, count: int, seconds: float) -> Figures:
    """With so many screens, the other probes, and a tap and a reading of the probe on them every five seconds."""
    async with aiomqtt.Client(**running.broker) as client:
        usual = asyncio.create_task(_usual_traffic(client))
        await asyncio.sleep(2.0)
        idle = await _cost(running, client, (), seconds)
        async with opened(running, screens(count)) as there:
            busy = await _cost(running, client, there, seconds)
        usual.cancel()
    return {"kind": "open", "count": count, "without": idle, "with": busy}


async def _cost(running: Service, client: aiomqtt.Client, there: Sequence[Screen], seconds: float) -> Figures:
    spent, began, before = running.cpu_s(), time.perf_counter(), [s.taken for s in there]
    celsius = 58.0
    while time.perf_counter() - began < seconds:
        celsius = round(celsius + 0.2, 1)
        await client.publish(f"coldwright/v1/probes/{PROBE}/reading", f"{celsius:.1f}", qos=1)
        await running.tap(celsius)
        await asyncio.sleep(EVERY_S)
    took = time.perf_counter() - began
    kilobytes = sum(s.taken - b for s, b in zip(there, before, strict=True)) / 1000 / took
    return {"cpu_percent": 100 * (running.cpu_s() - spent) / took, "mb": running.mb(), "kb_per_s": kilobytes}


def both(values: list[float]) -> dict[str, float]:
    """Half of them, and 99 of a hundred, stay under these."""
    return {"p50": statistics.median(values), "p99": quantile(values, 0.99)}


def tables(found: Mapping[str, Figures]) -> str:
    """Latencies as ratios to the bare broker in the same run; and the cost of open screens."""
    parts = ["## Screens"]
    for row in (row for row in found.values() if row["kind"] == "latency"):
        parts.append(f"From a tap and from a reading to {WATCHING} screens, {row['times']} of each.\n\n{_latency(row)}")
    if opened_ := [row for row in found.values() if row["kind"] == "open"]:
        parts.append(
            "What open screens cost the service's own process (its broker apart), with six probes every "
            f"{EVERY_S:g} s, and a tap and a reading of the probe on the screens as often.\n\n{_opened(opened_)}"
        )
    return "\n\n".join(parts)


def _latency(row: Figures) -> str:
    named = {
        "bare one": "bare broker, to the first subscriber",
        "bare": f"bare broker, to {WATCHING} subscribers",
        "answer": "tap: its answer, on disk",
        "tap": f"tap: on {WATCHING} screens",
        "reading": f"reading: on {WATCHING} screens",
    }
    lines = [
        [says, *(number(row[name][share]) for share in ("p50", "p99")), *_over(row[name], row["bare"])]
        for name, says in named.items()
    ]
    return table(["", "p50 (ms)", "p99 (ms)", "p50 ÷ bare", "p99 ÷ bare"], lines)


def _over(one: Mapping[str, float], bare: Mapping[str, float]) -> list[str]:
    return [number(one[share] / bare[share]) for share in ("p50", "p99")]


def _opened(rows: Sequence[Figures]) -> str:
    head = ["screens", "processor (%)", "without any (%)", "a screen (%)", "MB", "MB without", "kB a screen", "kB/s"]
    lines = []
    for row in sorted(rows, key=lambda row: row["count"]):
        there, without, count = row["with"], row["without"], row["count"]
        each = (there["cpu_percent"] - without["cpu_percent"]) / count
        kilobytes = 1024 * (there["mb"] - without["mb"]) / count
        figures = (there["cpu_percent"], without["cpu_percent"], each, there["mb"], without["mb"], kilobytes)
        lines.append([str(count), *map(number, figures), number(there["kb_per_s"])])
    return table(head, lines)
