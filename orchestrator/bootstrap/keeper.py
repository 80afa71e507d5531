"""Who writes a kitchen: the lock on its record, taken, watched and given back; and its readings, tidied."""

import asyncio
import logging
import os
import socket
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.data_server import DataServer
from orchestrator.bootstrap.settings import Settings
from orchestrator.ports.access import AccessStore
from orchestrator.ports.event_log import LogUnavailable, ReadingsStore

LOG = logging.getLogger(__name__)
_LOOKED_AT_EVERY_S: Final = 2.0
_TIDIED_EVERY_S: Final = 3600.0


class Keeper:
    """Holds a data folder, or a kitchen in a database, for as long as the service runs."""

    def __init__(self, settings: Settings) -> None:
        """Nothing is taken yet. Raises: LogUnavailable when the address of the database is none."""
        self._settings = settings
        self._place = DataServer(settings.database) if settings.database else DataFolder(settings.data)
        self._lost: asyncio.Event = asyncio.Event()
        self._why = ""
        self.holds = False
        """Whether the lock was ours when it was last looked at."""
        self.holder = f"{socket.gethostname()}, process {os.getpid()}"

    @property
    def event_log(self) -> Path | str:
        """Where the log is."""
        return self._place.event_log

    @property
    def readings(self) -> Path | str:
        """Where the readings are."""
        return self._place.readings

    @property
    def state(self) -> Path | None:
        """Where the folded state is kept; nowhere if a server keeps the log: the next writer may be elsewhere."""
        return self._place.state if isinstance(self._place, DataFolder) else None

    @property
    def access(self) -> Path | str:
        """Where it is kept who may do what."""
        return self._place.access

    @property
    def name(self) -> str:
        """Of the place, for people: never a password."""
        return self._place.name

    @property
    def server_off_s(self) -> float | None:
        """How far this computer's clock is ahead of the database server's, in seconds; none with a folder."""
        return self._place.clock_off_s if isinstance(self._place, DataServer) else None

    async def take(self) -> None:
        """Keep other services out; on standby, wait for our turn.

        Raises:
            LogUnavailable: another service has it, or it cannot be reached.
        """
        if not self._settings.standby:
            await asyncio.to_thread(self._place.take)
            self.holds = True
            return
        given_up = threading.Event()
        try:
            self.holds = await asyncio.to_thread(self._place.wait, given_up)
        finally:
            given_up.set()  # the thread ends, also when whoever waits is cancelled

    async def watch(self) -> None:
        """See that the lock stays ours. One that ended with its connection is taken anew if nobody else has it."""
        while True:
            await asyncio.sleep(_LOOKED_AT_EVERY_S)
            self.holds = await asyncio.to_thread(self._place.held)
            if self.holds:
                continue
            try:
                kept = await asyncio.to_thread(self._place.regain)
            except LogUnavailable as error:
                LOG.error("%s; nothing can be recorded until then", error)
                continue
            if not kept:
                self._why = f"{self._place.name} is written by another service now; this one ends"
                self._lost.set()
                return
            self.holds = True
            LOG.warning("%s is back; this service goes on", self._place.name)

    async def lost(self) -> str:
        """Wait until another service has taken over. Returns: why, for people."""
        await self._lost.wait()
        return self._why

    async def tidy(
        self, readings: ReadingsStore, now: Callable[[], datetime], access: AccessStore | None = None
    ) -> None:
        """Once an hour, pack what is old and let go what was kept long enough; refused acts by the real clock."""
        while True:
            try:
                if done := await asyncio.to_thread(readings.tidy, now(), self._settings.keeping):
                    LOG.info("%d days of readings were packed or let go", done)
            except LogUnavailable as error:
                LOG.error("old readings stay as they are: %s", error)
            try:
                if access is not None:
                    await asyncio.to_thread(access.tidy, datetime.now(UTC), self._settings.keeping)
            except LogUnavailable as error:
                LOG.error("refused acts and ended sessions stay as they are: %s", error)
            await asyncio.sleep(_TIDIED_EVERY_S)

    def release(self) -> None:
        """Let others in."""
        self.holds = False
        self._place.release()
