"""A real Mosquitto of the test's own, on a free port of the loopback."""

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def running(configuration: Path, port: int) -> Iterator[None]:
    """Run it until the end of the block. The file says that it listens at the port."""
    program = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")
    assert program, "mosquitto is missing: apt-get install mosquitto mosquitto-clients"
    if os.geteuid() == 0:  # else it would give up its rights, and could no longer read what is the test's alone
        configuration.write_text(configuration.read_text() + "user root\n")
    broker = subprocess.Popen([program, "-c", str(configuration)], stderr=subprocess.PIPE, text=True)
    try:
        until = time.monotonic() + 10
        while time.monotonic() < until:
            assert broker.poll() is None, broker.stderr.read() if broker.stderr else "it ended at once"
            with suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.2):
                break
            time.sleep(0.02)
        yield
    finally:
        broker.terminate()
        broker.communicate(timeout=5)
