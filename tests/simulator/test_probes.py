"""Thermometers on the network, heard by a plain MQTT client at the embedded broker."""

import asyncio
import json
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager

import aiomqtt
import pytest

from orchestrator.adapters.embedded_broker import EmbeddedBroker
from orchestrator.core.ids import ProbeId
from orchestrator.simulator.probes import Publisher, client_for, payload_of, publish_one
from tests.fakes.kitchens import at


@pytest.fixture(scope="module")
def broker_url() -> Iterator[str]:
    broker = EmbeddedBroker(0)
    broker.start()
    yield broker.url()
    broker.stop()


@asynccontextmanager
async def listening(url: str) -> AsyncIterator[aiomqtt.Client]:
    async with client_for(url) as client:
        await client.subscribe("coldwright/v1/probes/+/reading", qos=1)
        yield client


async def heard(client: aiomqtt.Client, count: int) -> list[tuple[str, object]]:
    found: list[tuple[str, object]] = []
    async with asyncio.timeout(5):
        async for message in client.messages:
            assert isinstance(message.payload, bytes)
            found.append((str(message.topic), json.loads(message.payload)))
            if len(found) == count:
                return found
    return found


def test_payload_with_nothing_but_a_value_is_a_bare_number() -> None:
    assert payload_of(4.2) == "4.2"


def test_payload_with_time_and_seq_is_json_in_utc() -> None:
    body = json.loads(payload_of(-18.5, at("Wed 09:00"), 7))
    assert body == {"celsius": -18.5, "measured_at": "2026-11-25T09:00:00Z", "seq": 7}


async def test_one_reading_published_is_heard(broker_url: str) -> None:
    async with listening(broker_url) as client:
        await publish_one(broker_url, "fridge-air", payload_of(4.2))
        assert await heard(client, 1) == [("coldwright/v1/probes/fridge-air/reading", 4.2)]


async def test_publisher_sends_what_it_is_given_in_order(broker_url: str) -> None:
    async with listening(broker_url) as client:
        publisher = Publisher(broker_url)
        running = asyncio.create_task(publisher.run())
        publisher.send([(ProbeId("freezer-air"), -20.0 - seq, at("Wed 09:00"), seq) for seq in range(1, 4)])
        received = await heard(client, 3)
        running.cancel()
        await asyncio.gather(running, return_exceptions=True)
    assert [body["celsius"] for _, body in received if isinstance(body, dict)] == [-21.0, -22.0, -23.0]
    assert publisher.sent == 3


@pytest.mark.parametrize("url", ["http://127.0.0.1:1883", "127.0.0.1:1883", "mqtt://"])
def test_address_that_is_no_broker_is_refused(url: str) -> None:
    with pytest.raises(ValueError, match="is no broker"):
        client_for(url)
