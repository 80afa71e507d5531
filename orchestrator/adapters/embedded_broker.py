"""An MQTT broker of our own: a child process on the loopback interface, ended with us."""

import contextlib
import json
import logging
import socket
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

_CONFIGURATION: Final = """
id = 0
[router]
max_connections = 10000
max_outgoing_packet_count = 200
max_segment_size = 104857600
max_segment_count = 10
[v4.1]
name = "v4-1"
listen = "{listen}:{port}"
next_connection_delay_ms = 1
[v4.1.connections]
connection_timeout_ms = 60000
max_payload_size = {largest}
max_inflight_count = 100
dynamic_filters = true
[v4.1.connections.auth]
{login}
"""
_STARTS_WITHIN_S = 10.0
_STOPS_WITHIN_S = 3.0
_MAX_PAYLOAD_BYTES = 262_144
"""Of a message: retained alarms and foreign thermometers' documents fit; the library's default is 20 kB."""


@dataclass(frozen=True, slots=True)
class Login:
    """What a broker asks of whoever connects."""

    user: str
    password: str = field(repr=False)

    @staticmethod
    def parse(text: str) -> "Login":
        """Read ``user:password``. Raises: ValueError, which never shows what it read."""
        user, colon, password = text.partition(":")
        if not (colon and user and password):
            raise ValueError("a login is written user:password")
        return Login(user, password)


class EmbeddedBroker:
    """Implements `ports.probes.Broker` with the broker that the `iotcore` package carries.

    The broker has no way to be stopped, so it runs in a process of its own, in a session of its own: Ctrl-C in
    the terminal does not end it before we do, and when we die it sees its standard input close and ends too.
    """

    def __init__(self, port: int = 0, host: str = "127.0.0.1", login: Login | None = None) -> None:
        """Prepare a broker on a port, or on a free one if it is 0; with a login it lets nobody in without it."""
        self._host = host
        self._port = port
        self._login = login
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start and wait until it accepts connections. Started again, it keeps its port.

        Raises:
            OSError: the port is taken, or the broker does not come up.
        """
        if self._process is not None and self._process.poll() is None:
            return
        self._port = _free_port(self._host, self._port)
        self._process = subprocess.Popen(  # noqa: S603 - this Python and this module, no shell
            [sys.executable, "-m", __name__], stdin=subprocess.PIPE, start_new_session=True
        )
        # By the pipe, not by the command line: that one, with the password in it, every user of the machine can read.
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(self._options()).encode() + b"\n")
        self._process.stdin.flush()
        until = time.monotonic() + _STARTS_WITHIN_S
        while not _accepts(self._host, self._port):
            if self._process.poll() is not None or time.monotonic() > until:
                self.stop()
                raise OSError(f"the embedded MQTT broker did not start on {self._host}:{self._port}")
            time.sleep(0.02)

    def _options(self) -> dict[str, Any]:
        login = {self._login.user: self._login.password} if self._login else {}
        return {"listen": self._host, "port": self._port, "login": login}

    def stop(self) -> None:
        """Stop it; harmless when it does not run."""
        process, self._process = self._process, None
        if process is None:
            return
        if process.stdin is not None:
            process.stdin.close()
        try:
            process.wait(_STOPS_WITHIN_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    def alive(self) -> bool:
        """Whether the process runs."""
        return self._process is not None and self._process.poll() is None

    def url(self) -> str:
        """Where it listens, such as ``mqtt://127.0.0.1:1883``; with a login, it stands in it."""
        host = "127.0.0.1" if self._host == "0.0.0.0" else self._host  # noqa: S104 - compared, not bound
        login = f"{quote(self._login.user, safe='')}:{quote(self._login.password, safe='')}@" if self._login else ""
        return f"mqtt://{login}{host}:{self._port}"


def _free_port(host: str, port: int) -> int:
    """The port itself if it is free, any free one for 0. Raises: OSError when it is taken."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise OSError(f"MQTT port {port} on {host} is taken: choose another, or 0 for a free one") from error
        free: int = probe.getsockname()[1]
        return free


def _accepts(host: str, port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection((host, port), timeout=0.2):
        return True
    return False


def _guarded(options: dict[str, Any], folder: Path) -> dict[str, Any]:
    """The library takes a login from a file only: one in a folder that is its owner's alone."""
    login = "\n".join(f"{json.dumps(user)} = {json.dumps(password)}" for user, password in options["login"].items())
    file = folder / "broker.toml"
    file.write_text(_CONFIGURATION.format(**options | {"login": login, "largest": _MAX_PAYLOAD_BYTES}), "utf-8")
    return {"config_path": str(file)}


def _serve(options: dict[str, Any]) -> None:
    """The child: serve until standard input closes, which it does when the parent ends, however it ends."""
    from iotcore import IotCoreBroker

    # It writes an error record for every packet that it routes.
    logging.getLogger("rumqttd").setLevel(logging.CRITICAL)
    with tempfile.TemporaryDirectory(prefix="coldwright-broker-") as folder:
        plain = {"listen": options["listen"], "port": options["port"], "max_payload_size": _MAX_PAYLOAD_BYTES}
        broker = IotCoreBroker(**(_guarded(options, Path(folder)) if options["login"] else plain))
        threading.Thread(target=broker.run_forever, daemon=True).start()
        sys.stdin.buffer.read()


if __name__ == "__main__":
    _serve(json.loads(sys.stdin.buffer.readline()))
