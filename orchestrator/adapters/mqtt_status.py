"""State out over MQTT: retained alarms, and whether the service is there."""

import asyncio
import json
import logging
from collections.abc import Callable, Mapping
from typing import Final
from urllib.parse import quote

import aiomqtt

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_client import MqttClient
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm

LOG = logging.getLogger(__name__)
STATUS_TOPIC: Final = "coldwright/v1/status"
ALARM_PREFIX: Final = "coldwright/v1/alarms/"
_FIRST_PAUSE_S, _LONGEST_PAUSE_S = 0.1, 2.0
_LEARNING_S = 0.3
"""How long after connecting retained alarms of an earlier run are waited for."""


def alarm_topic(alarm: AlarmId) -> str:
    """The retained topic of an alarm. Letters that MQTT keeps for itself (/, +, #) are percent-encoded."""
    return ALARM_PREFIX + quote(alarm, safe=":-_. ")


class MqttStatus:
    """Publishes ``coldwright/v1/alarms/<alarm>`` and ``coldwright/v1/status`` (last will ``offline``).

    An alarm that returned clears its retained topic; so do alarms left behind by an earlier run.
    """

    def __init__(
        self,
        address: MqttAddress,
        alarms: Callable[[], Mapping[AlarmId, Alarm]],
        *,
        practice: bool = False,
        identifier: str = "coldwright-status",
    ) -> None:
        """Prepare to publish what ``alarms`` says each time it is asked."""
        self._address = address
        self._prefix = address.prefix
        self._topic = address.prefix + STATUS_TOPIC
        self._alarms = alarms
        self._practice = practice
        self._identifier = identifier
        self._changed = asyncio.Event()
        self._published: dict[str, str] = {}
        self._looked_at: Mapping[AlarmId, Alarm] | None = None

    def changed(self) -> None:
        """Alarms may have changed. Cheap; call it from the loop after every change."""
        self._changed.set()

    async def run(self) -> None:
        """Publish until cancelled, then say ``offline``; reconnects by itself."""
        pause_s = _FIRST_PAUSE_S
        while True:
            try:
                async with self._client() as client:
                    await self._learn(client)
                    await client.publish(self._topic, "online", qos=1, retain=True)
                    pause_s = _FIRST_PAUSE_S
                    try:
                        await self._follow(client)
                    finally:
                        await asyncio.wait_for(client.publish(self._topic, "offline", qos=1, retain=True), 1)
            except (aiomqtt.MqttError, OSError, TimeoutError) as error:
                LOG.debug("status at %s: %s", self._address.shown(), error)
            await asyncio.sleep(pause_s)
            pause_s = min(pause_s * 2, _LONGEST_PAUSE_S)

    def _client(self) -> aiomqtt.Client:
        return MqttClient(
            **self._address.client_arguments(),
            identifier=self._identifier,
            clean_session=True,
            keepalive=5,
            timeout=10,
            will=aiomqtt.Will(self._topic, "offline", qos=1, retain=True),
        )

    async def _learn(self, client: aiomqtt.Client) -> None:
        """Find out what the broker still has, so that only differences are sent."""
        self._published, self._looked_at = {}, None
        await client.subscribe(self._prefix + ALARM_PREFIX + "+", qos=0)
        try:
            async with asyncio.timeout(_LEARNING_S):
                async for message in client.messages:
                    if message.retain and isinstance(message.payload, bytes) and message.payload:
                        self._published[str(message.topic)] = message.payload.decode("utf-8", "replace")
        except TimeoutError:
            pass
        await client.unsubscribe(self._prefix + ALARM_PREFIX + "+")

    async def _follow(self, client: aiomqtt.Client) -> None:
        while True:
            self._changed.clear()
            await self._publish(client)
            # A lost line shows only in a call: look at it every few seconds although nothing has changed.
            waiting = asyncio.ensure_future(self._changed.wait())
            lost = asyncio.ensure_future(_line_lost(client))
            try:
                await asyncio.wait((waiting, lost), return_when=asyncio.FIRST_COMPLETED)
                if lost.done():
                    lost.result()
            finally:
                waiting.cancel()
                lost.cancel()

    async def _publish(self, client: aiomqtt.Client) -> None:
        alarms = self._alarms()
        if alarms is self._looked_at:
            return  # readings come often, alarms seldom
        wanted = {
            self._prefix + alarm_topic(alarm.id): self._payload(alarm)
            for alarm in alarms.values()
            if not alarm.returned_at
        }
        for topic in set(self._published) - set(wanted):
            await client.publish(topic, b"", qos=1, retain=True)
            del self._published[topic]
        for topic, payload in wanted.items():
            if self._published.get(topic) != payload:
                await client.publish(topic, payload, qos=1, retain=True)
                self._published[topic] = payload
        self._looked_at = alarms

    def _payload(self, alarm: Alarm) -> str:
        document = alarm.model_dump(mode="json", exclude_defaults=True)
        return json.dumps({**document, "practice": self._practice}, ensure_ascii=False)


async def _line_lost(client: aiomqtt.Client) -> None:
    """Ends with MqttError when the connection does."""
    async for _ in client.messages:
        pass
