"""Thermometers, a real Mosquitto and the real feed into real SQLite; the broker ends, and comes back.

Source: OASIS MQTT 3.1.1, sections 3.1.2.4 (session state is kept over connections with CleanSession 0) and 4.3.2
(QoS 1: at least once).
"""

import asyncio
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_probes import MqttProbes
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.adapters.system_clock import SystemClock
from orchestrator.core.ids import ProbeId
from orchestrator.ports.event_log import Reading
from orchestrator.ports.probes import RejectedCounts
from orchestrator.simulator.probes import Publisher
from tests.fakes.kitchens import small_kitchen

PROBE: Final = ProbeId("fridge-air")
_PATIENCE_S: Final = 120.0


class Mosquitto:
    """A broker that keeps sessions and what waits in them on disk."""

    def __init__(self, folder: Path) -> None:
        program = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")
        assert program, "mosquitto is missing: apt-get install mosquitto mosquitto-clients"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        folder.mkdir()
        # Its own limit of 1000 queued messages would drop the rest without a word.
        told = f"listener {self.port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\nuser root\n"
        (folder / "mosquitto.conf").write_text(f"{told}persistence true\npersistence_location {folder}/\n")
        self._command = [program, "-c", str(folder / "mosquitto.conf")]
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start and wait until it takes connections."""
        self._process = subprocess.Popen(self._command, stderr=subprocess.DEVNULL)
        until = time.monotonic() + _PATIENCE_S
        while time.monotonic() < until:
            with suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 0.2):
                return
            time.sleep(0.02)
        raise AssertionError("mosquitto does not start")

    def stop(self) -> None:
        """As an update or a restart of its machine does."""
        if self._process is not None:
            self._process.send_signal(signal.SIGTERM)
            self._process.wait(20)
            self._process = None


@dataclass(slots=True)
class Lived:
    """What came of it."""

    measured: int = 0
    kept: list[int] = field(default_factory=list)
    waited_at_probes: int = 0
    """The most readings that thermometers kept to themselves at once."""
    brought_again: int = 0
    """Readings that came more than once, and were kept once."""


class Outage:
    """One loop: thermometers that measure so many times a second, and the service."""

    def __init__(self, folder: Path, per_s: float) -> None:
        self._folder = folder
        self._every_s = 1.0 / per_s
        self.broker = Mosquitto(folder / "broker")
        self._store = SqlReadings(folder / "readings.db")
        self._brought = 0
        self._feed: asyncio.Task[None] | None = None
        self.lived = Lived()

    async def live(self, *, down_s: float, away_s: float, around_s: float) -> Lived:
        """Some readings; the broker down; some more; the service away, the broker restarted meanwhile; the rest."""
        await asyncio.to_thread(self.broker.start)
        publisher = Publisher(f"mqtt://127.0.0.1:{self.broker.port}")
        await self._open()  # from here on the broker keeps a session for the service
        sending = [asyncio.create_task(publisher.run()), asyncio.create_task(self._measure(publisher))]
        try:
            await asyncio.sleep(around_s)
            await asyncio.to_thread(self.broker.stop)
            await asyncio.sleep(down_s)
            await asyncio.to_thread(self.broker.start)
            await asyncio.sleep(around_s)
            await self._shut()
            await asyncio.sleep(away_s)
            await asyncio.to_thread(self.broker.stop)
            await asyncio.to_thread(self.broker.start)
            await asyncio.sleep(around_s)
            await self._open()
            sending[1].cancel()
            await self._all_there(publisher)
        finally:
            for task in sending:
                task.cancel()
            await self._shut()
            await asyncio.to_thread(self.broker.stop)
            self._store.close()
        return self.lived

    async def _measure(self, publisher: Publisher) -> None:
        while True:
            self.lived.measured += 1
            publisher.send([(PROBE, 3.5, datetime.now(UTC), self.lived.measured)])
            self.lived.waited_at_probes = max(self.lived.waited_at_probes, publisher.waiting)
            await asyncio.sleep(self._every_s)

    async def _open(self) -> None:
        address = MqttAddress("127.0.0.1", self.broker.port)
        feed = MqttProbes(address, small_kitchen, SystemClock(), RejectedCounts())
        self._feed = asyncio.create_task(feed.run(self._take))
        async with asyncio.timeout(_PATIENCE_S):
            while not feed.connected:
                await asyncio.sleep(0.02)

    async def _shut(self) -> None:
        if self._feed is not None:
            self._feed.cancel()
            with suppress(asyncio.CancelledError):
                await self._feed
            self._feed = None

    async def _take(self, readings: Sequence[Reading]) -> None:
        self._brought += len(readings)
        await asyncio.to_thread(self._store.add, readings)

    def _kept(self) -> list[int]:
        now = datetime.now(UTC)
        return [r.seq or 0 for r in self._store.between(PROBE, now - timedelta(hours=12), now + timedelta(hours=1))]

    async def _all_there(self, publisher: Publisher) -> None:
        with suppress(TimeoutError):
            async with asyncio.timeout(_PATIENCE_S):
                while publisher.waiting or len(await asyncio.to_thread(self._kept)) < self.lived.measured:
                    await asyncio.sleep(0.2)
        self.lived.kept = self._kept()
        self.lived.brought_again = self._brought - len(self.lived.kept)
