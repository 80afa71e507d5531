"""Thermometers on the network: they publish what they measure over MQTT, like any thermometer would."""

import asyncio
import json
import logging
from collections import deque
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Final

import aiomqtt

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_client import MqttClient
from orchestrator.core.ids import ProbeId

LOG = logging.getLogger(__name__)
TOPIC: Final = "coldwright/v1/probes/{probe}/reading"
_AGAIN_S: Final = 1.0
_MOST_WAITING: Final = 5000

Measured = tuple[ProbeId, float, datetime, int]
"""Probe, °C, measured at, seq."""


def payload_of(celsius: float, measured_at: datetime | None = None, seq: int | None = None) -> str:
    """A reading as it travels: a bare number, or JSON when there is more to say."""
    if measured_at is None and seq is None:
        return f"{celsius:g}"
    body: dict[str, object] = {"celsius": celsius}
    if measured_at is not None:
        body["measured_at"] = measured_at.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if seq is not None:
        body["seq"] = seq
    return json.dumps(body)


def client_for(url: str, identifier: str | None = None) -> aiomqtt.Client:
    """A client, as a thermometer's maker would set one up. Raises: ValueError: the address is none."""
    return MqttClient(**MqttAddress.parse(url).client_arguments(), identifier=identifier)


async def publish_one(url: str, probe: str, payload: str) -> None:
    """Send one reading, at least once.

    Raises:
        aiomqtt.MqttError: the broker cannot be reached.
        ValueError: the address is none.
    """
    topic = MqttAddress.parse(url).prefix + TOPIC.format(probe=probe)
    async with client_for(url) as client:
        await client.publish(topic, payload, qos=1)


class Publisher:
    """Sends readings as they come, and reconnects by itself; keeps the newest few thousand meanwhile."""

    def __init__(self, url: str) -> None:
        self._url = url
        self._waiting: deque[Measured] = deque(maxlen=_MOST_WAITING)
        self._some = asyncio.Event()
        self._loop = asyncio.get_running_loop()
        self.sent = 0

    def send(self, readings: Sequence[Measured]) -> None:
        """Hand over readings, from any thread."""
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._put, tuple(readings))

    def _put(self, readings: Sequence[Measured]) -> None:
        self._waiting.extend(readings)
        self._some.set()

    @property
    def waiting(self) -> int:
        """Readings that the broker has not acknowledged."""
        return len(self._waiting)

    async def _send_first(self, client: aiomqtt.Client) -> None:
        """The oldest; it goes on waiting until the broker has acknowledged it, so that none is lost with the line."""
        while not self._waiting:
            self._some.clear()
            await self._some.wait()
        first = self._waiting[0]
        probe, celsius, at, seq = first
        await client.publish(TOPIC.format(probe=probe), payload_of(celsius, at, seq), qos=1)
        self.sent += 1
        if self._waiting and self._waiting[0] is first:
            self._waiting.popleft()

    async def run(self) -> None:
        """Publish until cancelled."""
        while True:
            try:
                async with client_for(self._url, "coldwright-practice-thermometers") as client:
                    while True:
                        await self._send_first(client)
            except aiomqtt.MqttError as error:
                LOG.info("the thermometers lost the broker (%s); trying again", error)
                await asyncio.sleep(_AGAIN_S)
