"""Readings over MQTT: acknowledged only after they are on disk, and found again after every loss of the line."""

import asyncio
import logging
from collections.abc import Callable
from datetime import UTC, datetime

import aiomqtt

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_client import MqttClient
from orchestrator.adapters.reading_payload import TOPIC_FILTER, Reason, Received, Rejection, decode
from orchestrator.adapters.rejected import count
from orchestrator.core.models import Kitchen
from orchestrator.ports.clock import Clock
from orchestrator.ports.event_log import LogUnavailable, Reading
from orchestrator.ports.probes import OnReadings, RejectedCounts

LOG = logging.getLogger(__name__)
_FIRST_PAUSE_S, _LONGEST_PAUSE_S = 0.1, 2.0
_MOST_AT_ONCE = 500


class MqttProbes:
    """Implements `ports.probes.ProbeFeed`.

    With QoS 1 nothing is lost while we are away from a broker that keeps sessions: the identifier is fixed, the
    session is kept, and a message is acknowledged by hand after its reading is durable. A repeat that this
    causes is known by probe, time and seq.
    """

    def __init__(
        self,
        address: MqttAddress,
        kitchen: Callable[[], Kitchen | None],
        clock: Clock,
        rejected: RejectedCounts,
        identifier: str = "coldwright-probes",
    ) -> None:
        """Prepare to receive; ``kitchen`` is asked anew for every message."""
        self._address = address
        self._kitchen = kitchen
        self._clock = clock
        self._rejected = rejected
        self._identifier = identifier
        self.connected = False
        self.heard_at: datetime | None = None
        """When readings last came, by the computer's clock."""

    async def run(self, on_readings: OnReadings) -> None:
        """Receive until cancelled; reconnects by itself."""
        pause_s = _FIRST_PAUSE_S
        while True:
            try:
                async with self._client() as client:
                    for topic in self._topics():
                        await client.subscribe(topic, qos=1)
                    self.connected, pause_s = True, _FIRST_PAUSE_S
                    LOG.info("listening for probes at %s", self._address.shown())
                    await self._receive(client, on_readings)
            except (aiomqtt.MqttError, LogUnavailable, OSError) as error:
                if self.connected:
                    LOG.warning("probes at %s: %s; trying again", self._address.shown(), error)
            finally:
                self.connected = False
            await asyncio.sleep(pause_s)
            pause_s = min(pause_s * 2, _LONGEST_PAUSE_S)

    def _client(self) -> aiomqtt.Client:
        client = MqttClient(
            **self._address.client_arguments(),
            identifier=self._identifier,
            clean_session=False,
            keepalive=5,
            timeout=10,
        )
        # The library acknowledges on receipt and offers no public way to do it later (aiomqtt 2.5; pinned).
        client._client.manual_ack_set(True)
        return client

    def _topics(self) -> list[str]:
        kitchen = self._kitchen()
        foreign = kitchen.mappings if kitchen else ()
        return [self._address.prefix + TOPIC_FILTER, *(mapping.topic for mapping in foreign)]

    async def _receive(self, client: aiomqtt.Client, on_readings: OnReadings) -> None:
        messages = client.messages
        async for message in messages:
            batch = [message]
            while len(messages) and len(batch) < _MOST_AT_ONCE:
                batch.append(await anext(messages))
            await on_readings(self._decode_all(batch))  # raises LogUnavailable: not acknowledged, so sent again
            self.heard_at = datetime.now(UTC)
            for taken in batch:
                client._client.ack(taken.mid, taken.qos)

    def _decode_all(self, batch: list[aiomqtt.Message]) -> list[Reading]:
        kitchen = self._kitchen()
        received = Received(self._clock.now(), datetime.now(UTC), self._clock.rate)
        readings: list[Reading] = []
        for message in batch:
            topic, payload = str(message.topic).removeprefix(self._address.prefix), message.payload
            if kitchen is None:
                read: Reading | Rejection = Rejection(Reason.UNKNOWN_PROBE, "no kitchen is set up yet")
            elif isinstance(payload, bytes | bytearray):
                read = decode(topic, bytes(payload), retained=message.retain, received=received, kitchen=kitchen)
            else:
                read = Rejection(Reason.MALFORMED, "no payload")
            if isinstance(read, Rejection):
                count(self._rejected, read)
            else:
                readings.append(read)
        return readings
