"""Backups by themselves: once a day in a quiet hour, soon after a start that comes late, and again after a failure."""

import asyncio
import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from orchestrator.adapters.backup import Places
from orchestrator.adapters.backup_process import BackupProcess
from orchestrator.adapters.backup_rota import LastGood, kept, last_good
from orchestrator.engine.alarm_clock import TimersFactory
from orchestrator.ports.event_log import LogUnavailable

LOG = logging.getLogger(__name__)
A_DAY: Final = timedelta(days=1)
_AFTER_START: Final = timedelta(minutes=2)
"""A machine that is off at night makes its backup when it is on; not at once, when everybody waits for screens."""
_AGAIN_AFTER: Final = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class BackupBook:
    """What is known of the backups."""

    folder: Path
    last: LastGood | None
    kept: int
    next_at: datetime | None
    failed: str
    """Why the last one could not be made; empty when it was."""


def next_quiet(now: datetime, zone: str, at: time) -> datetime:
    """The next instant, in UTC, at which a clock in that zone shows ``at``.

    In the night in which the clocks go back it comes once; where they go forward over it, as much later.
    """
    local = now.astimezone(ZoneInfo(zone))
    for days in (0, 1, 2):
        found = datetime.combine(local.date() + timedelta(days=days), at, local.tzinfo).astimezone(UTC)
        if found > now:
            return found
    raise AssertionError(f"no {at} after {now}")


class Backups:
    """Makes them while the service runs; a failure is told and tried again, and never touches the older ones."""

    def __init__(
        self,
        source: Places,
        folder: Path,
        *,
        keep: int,
        at: time,
        zone: Callable[[], str],
        now: Callable[[], datetime],
        timers: TimersFactory,
    ) -> None:
        """Nothing is made yet.

        Args:
            source: Where log and readings are.
            folder: For the backups.
            keep: How many stay.
            at: Local time of the quiet hour.
            zone: The kitchen's time zone, by its IANA name.
            now: The clock's.
            timers: Makes the timer that wakes us.
        """
        self._source, self._folder, self._keep = source, folder, keep
        self._at, self._zone, self._now = at, zone, now
        self._due = asyncio.Event()
        self._timer = timers(self._due.set)
        self._process = BackupProcess()
        self._last: LastGood | None = None
        self._kept = 0
        self._next_at: datetime | None = None
        self._failed = ""

    @property
    def book(self) -> BackupBook:
        """As it stands; readable from any thread."""
        return BackupBook(self._folder, self._last, self._kept, self._next_at, self._failed)

    async def run(self) -> None:
        """Make them until cancelled."""
        try:
            await asyncio.to_thread(self._look)
            late = self._last is None or self._now() - self._last.made_at > A_DAY
            self._arm(self._now() + _AFTER_START if late else self._quiet())
            while True:
                await self._due.wait()
                self._due.clear()
                done = await self.make()
                self._arm(self._quiet() if done else min(self._quiet(), self._now() + _AGAIN_AFTER))
        finally:
            self._timer.close()
            self._process.end()

    async def make(self) -> bool:
        """One now. Returns: whether it is there and good."""
        try:
            found = await asyncio.to_thread(
                self._process.take, self._source, self._folder, self._keep, datetime.now(UTC)
            )
        except LogUnavailable as error:
            self._failed = str(error)
            LOG.error("no backup: %s", error)
        else:
            self._failed = ""
            LOG.info("backed up and proven: %d records in %s", found.events, found.folder)
        await asyncio.to_thread(self._look)
        return not self._failed

    def _look(self) -> None:
        self._last, self._kept = last_good(self._folder), kept(self._folder)

    def _quiet(self) -> datetime:
        return next_quiet(self._now(), self._zone(), self._at)

    def _arm(self, at: datetime) -> None:
        self._next_at = at
        self._timer.arm(at)
