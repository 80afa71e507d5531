"""A socket that closes before the event loop has begun to watch it: what connecting in a thread can come to."""

import asyncio
import socket
from collections.abc import Callable
from typing import Any

import aiomqtt
import pytest

from orchestrator.adapters.mqtt_client import MqttClient

Watch = Callable[[aiomqtt.Client, socket.socket], None]


def _to_read(client: aiomqtt.Client, sock: socket.socket) -> None:
    client._on_socket_open(client._client, None, sock)


def _to_write(client: aiomqtt.Client, sock: socket.socket) -> None:
    client._on_socket_register_write(client._client, None, sock)


async def _reported(kind: type[aiomqtt.Client], watch: Watch) -> list[str]:
    """What the loop reports as nobody's when the socket closes between the asking and the watching."""
    told: list[str] = []
    asyncio.get_running_loop().set_exception_handler(lambda _loop, context: told.append(str(context["exception"])))
    client, sock = kind("127.0.0.1"), socket.socket()
    watch(client, sock)
    sock.close()
    await asyncio.sleep(0.01)
    return told


@pytest.mark.parametrize("watch", [_to_read, _to_write])
async def test_socket_closed_meanwhile_troubles_nobody(watch: Watch) -> None:
    assert await _reported(MqttClient, watch) == []


@pytest.mark.parametrize("watch", [_to_read, _to_write])
async def test_socket_closed_meanwhile_still_troubles_the_library(watch: Watch) -> None:
    """When this fails, the library has mended it and `MqttClient` can go."""
    assert len(await _reported(aiomqtt.Client, watch)) == 1


async def test_another_socket_under_the_same_number_is_not_watched() -> None:
    loop: Any = asyncio.get_running_loop()
    client, sock = MqttClient("127.0.0.1"), socket.socket()
    number = sock.fileno()
    _to_write(client, sock)
    sock.close()
    with socket.socket() as other:
        assert other.fileno() == number
        await asyncio.sleep(0.01)
        assert not loop.remove_writer(number)


async def test_failure_on_the_line_ends_the_connection() -> None:
    client = MqttClient("127.0.0.1")
    ours, theirs = socket.socketpair()

    def fail() -> None:
        asyncio.get_running_loop().remove_writer(ours)
        raise BrokenPipeError("the line is gone")

    with ours, theirs:
        client._watch(asyncio.get_running_loop().add_writer, ours, fail)
        await asyncio.sleep(0.01)
    with pytest.raises(BrokenPipeError, match="the line is gone"):
        await client._disconnected
