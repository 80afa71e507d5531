"""An external broker that keeps sessions: nothing that it took is lost while we are away."""

import asyncio
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import aiomqtt
import pytest

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_probes import MqttProbes
from orchestrator.adapters.system_clock import SystemClock
from orchestrator.ports.event_log import Reading
from orchestrator.ports.probes import RejectedCounts
from tests.fakes.kitchens import small_kitchen
from tests.fakes.mosquitto import running
from tests.fakes.ports import free_port

TOPIC = "coldwright/v1/probes/fridge-air/reading"


@pytest.fixture
def address(tmp_path: Path) -> Iterator[MqttAddress]:
    port = free_port()
    # Its own limit of 1000 queued messages would drop the rest without a word.
    file = tmp_path / "mosquitto.conf"
    file.write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\n")
    with running(file, port):
        yield MqttAddress("127.0.0.1", port)


class Taking:
    """Stores readings slowly, and stops for good after so many, as a killed service does."""

    def __init__(self, feed: MqttProbes, most: int | None = None) -> None:
        self.kept: list[int] = []
        self._most = most
        self._task = asyncio.create_task(feed.run(self._take))

    async def _take(self, readings: list[Reading]) -> None:
        if self._most is not None and len(self.kept) >= self._most:
            await asyncio.Event().wait()
        self.kept.extend(reading.seq for reading in readings if reading.seq is not None)

    async def until(self, wanted: set[int]) -> None:
        async with asyncio.timeout(20):
            while not wanted <= set(self.kept):
                await asyncio.sleep(0.02)

    async def end(self) -> None:
        self._task.cancel()
        with suppress(asyncio.CancelledError):
            await self._task


def feed_at(address: MqttAddress) -> MqttProbes:
    return MqttProbes(address, small_kitchen, SystemClock(), RejectedCounts())


async def publish(address: MqttAddress, numbers: range) -> None:
    async with aiomqtt.Client(address.host, address.port) as client:
        for number in numbers:
            await client.publish(TOPIC, f'{{"celsius": 4, "seq": {number}}}', qos=1)


async def test_probes_away_and_ended_in_the_middle_lose_nothing(address: MqttAddress) -> None:
    first_feed = feed_at(address)
    first = Taking(first_feed, most=50)
    async with asyncio.timeout(10):
        while not first_feed.connected:
            await asyncio.sleep(0.01)
    await publish(address, range(300))
    await asyncio.sleep(0.2)
    await first.end()  # what it was given and did not acknowledge comes again
    await publish(address, range(300, 700))
    second = Taking(feed_at(address))
    await second.until(set(range(700)) - set(first.kept))
    await second.end()
    assert set(first.kept) | set(second.kept) == set(range(700))
    assert len(first.kept) < 300
