"""aiomqtt's client, made safe for a socket that closes before the event loop has begun to watch it."""

import contextlib
from collections.abc import Callable
from typing import Any

import aiomqtt
import paho.mqtt.client as paho


class MqttClient(aiomqtt.Client):
    """As `aiomqtt.Client`, which asks for a socket's number in the thread that connects and uses it later in the loop.

    Where the connection fails in between, the number is closed by then, and asyncio reports an exception that nobody
    can catch; or it belongs to another socket already, which would be watched in its stead. Here the number is asked
    for in the loop; that the connection failed is told by connecting itself. (aiomqtt 2.5; pinned.)
    """

    def _on_socket_open(self, client: paho.Client, userdata: Any, sock: Any) -> None:
        self._loop.call_soon_threadsafe(self._watch, self._loop.add_reader, sock, lambda: _read(client))
        self._loop.call_soon_threadsafe(self._look_after)

    def _on_socket_register_write(self, client: paho.Client, userdata: Any, sock: Any) -> None:
        self._loop.call_soon_threadsafe(self._watch, self._loop.add_writer, sock, client.loop_write)

    def _watch(self, watch: Callable[..., None], sock: Any, act: Callable[[], object]) -> None:
        # A closed socket's number is -1, which the loop refuses as a value.
        with contextlib.suppress(OSError, ValueError):
            watch(sock.fileno(), self._guarded, act)

    def _guarded(self, act: Callable[[], object]) -> None:
        """Whatever fails on the line ends this connection; whoever uses it connects again."""
        try:
            act()
        except Exception as error:
            if not self._disconnected.done():
                self._disconnected.set_exception(error)

    def _look_after(self) -> None:
        self._misc_task = self._loop.create_task(self._misc_loop())


def _read(client: paho.Client) -> None:
    """What has come; under TLS bytes may wait decoded that the socket does not tell of."""
    while True:
        client.loop_read()
        sock = client.socket()
        pending = getattr(sock, "pending", None)
        if pending is None or not pending():
            return
