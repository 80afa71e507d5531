"""The service looks at itself: does it hold the pen, can it write, does everything it needs run."""

import asyncio
import logging
import shutil
import time
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Final

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.bootstrap.backups import Backups
from orchestrator.bootstrap.clock_record import ClockRecord, behind_s
from orchestrator.bootstrap.keeper import Keeper
from orchestrator.bootstrap.proving import Proving
from orchestrator.bootstrap.settings import Settings
from orchestrator.bootstrap.vital_checks import checks
from orchestrator.engine import Engine
from orchestrator.gateway.vitals import BackupFacts, ClockFacts, DiskFacts, PlannerFacts, Vitals
from orchestrator.ports.clock import Clock
from orchestrator.ports.planning import Planner, Staffed
from orchestrator.ports.probes import ProbeFeed

LOG = logging.getLogger(__name__)
_LOOKS_EVERY_S: Final = 1.0
_STEP_S: Final = 0.5
"""A wall clock that moved this much against the monotonic one between two looks was set."""
_LAGS: Final = 60
"""So many looks back, a minute, is the longest lag kept."""


@dataclass(frozen=True, slots=True)
class Watched:
    """The parts of a running service that are looked at."""

    settings: Settings
    clock: Clock
    engine: Engine
    log: SqlEventLog
    keeper: Keeper
    planner: Planner
    feed: ProbeFeed | None
    broker: str
    backups: Backups | None
    clock_record: ClockRecord
    proving: Proving | None = None
    edited: tuple[str, ...] = ()
    """Of the kitchen's files, and not in use."""


class SelfWatch:
    """Looks every second; `vitals` puts what was seen together with what can be asked at once."""

    def __init__(
        self,
        parts: Watched,
        *,
        disk_usage: Callable[[Path], tuple[int, int, int]] = shutil.disk_usage,
        wall: Callable[[], float] = time.time,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        """Nothing is seen yet."""
        self._parts = parts
        self._disk_usage, self._wall, self._monotonic = disk_usage, wall, monotonic
        self._version = version("coldwright")
        self._started_at = datetime.now(UTC)
        self._offset_s = wall() - monotonic()
        self._set_by_s = 0.0
        self._set_at: datetime | None = None
        self._lags: deque[float] = deque([0.0], maxlen=_LAGS)
        self._beat_at = self._started_from = monotonic()
        self._disk: DiskFacts | None = None
        self._amiss: frozenset[str] = frozenset()
        self._told: frozenset[str] = frozenset()

    def started(self) -> None:
        """The service works from now on: the loop was late for its start before, and nobody waited for it."""
        self._lags = deque([0.0], maxlen=_LAGS)
        self._started_from = self._monotonic()

    async def run(self) -> None:
        """Look until cancelled."""
        while True:
            await self._look()
            before = self._monotonic()
            await asyncio.sleep(_LOOKS_EVERY_S)
            if before >= self._started_from:
                self._lags.append(max(0.0, self._monotonic() - before - _LOOKS_EVERY_S))

    async def _look(self) -> None:
        self._beat_at = self._monotonic()
        self._look_at_clock()
        self._disk = await asyncio.to_thread(self._look_at_disk)
        if isinstance(self._parts.planner, Staffed):
            self._parts.planner.revive()
        found = {check.name: check for check in self.vitals().amiss}
        lasting = found.keys() & self._amiss  # at two looks: what is still being linked as it starts is no news
        for name in lasting - self._told:
            LOG.warning("amiss: %s (%s)", name, found[name].reason, extra={"check": name, "why": found[name].reason})
        for name in self._told - found.keys():
            LOG.warning("%s is well again", name, extra={"check": name})
        self._told = frozenset(lasting)
        if self._amiss != found.keys():
            self._amiss = frozenset(found)
            self._parts.engine.touch()  # screens that show it are drawn anew

    def _look_at_clock(self) -> None:
        moved_s = self._wall() - self._monotonic() - self._offset_s
        step_s = moved_s - self._set_by_s
        if abs(step_s) > _STEP_S:
            self._set_at = datetime.now(UTC)
            if not isinstance(self._parts.clock, ScaledClock):
                self._parts.clock_record.moved(step_s)
        self._set_by_s = moved_s
        self._parts.clock_record.settle()

    def _look_at_disk(self) -> DiskFacts | None:
        """Of the data folder; with a database elsewhere, of the folder for backups."""
        settings = self._parts.settings
        place = settings.backups if settings.database else settings.data
        if place is None:
            return None
        with suppress(OSError):
            total, _, free = self._disk_usage(place if place.exists() else place.parent)
            return DiskFacts(str(place), free, total)
        return None

    def vitals(self) -> Vitals:
        """As it stands. Cheap; from any thread."""
        parts = self._parts
        head = parts.log.head
        facts = Vitals(
            version=self._version,
            started_at=self._started_at,
            place=parts.keeper.name,
            holder=parts.keeper.holder,
            turns=parts.log.turn,
            seq=head.seq,
            head=str(head) if head.seq else "",
            broker=parts.broker,
            heard_at=parts.feed.heard_at if parts.feed is not None else None,
            lag_s=max(self._lags),
            clock=self._clock_facts(),
            disk=self._disk,
            backup=self._backup_facts(),
            planners=self._planner_facts(),
            proof=parts.proving.facts if parts.proving is not None else None,
            edited=parts.edited,
        )
        behind, practice = behind_s(parts.log.last_at, parts.clock), parts.settings.practice
        return checks(facts, parts.engine, parts.feed, holds=parts.keeper.holds, behind_s=behind, practice=practice)

    def _clock_facts(self) -> ClockFacts:
        kitchen = self._parts.engine.picture.state.kitchen
        zone = kitchen.time_zone if kitchen is not None else "UTC"
        off_s = self._parts.keeper.server_off_s
        return ClockFacts(zone, self._set_by_s, self._set_at, off_s)

    def _backup_facts(self) -> BackupFacts | None:
        if self._parts.backups is None:
            return None
        book = self._parts.backups.book
        made_at, head = (book.last.made_at, book.last.head) if book.last is not None else (None, "")
        return BackupFacts(str(book.folder), made_at, book.kept, book.next_at, head, book.failed)

    def _planner_facts(self) -> tuple[PlannerFacts, ...]:
        planner = self._parts.planner
        if not isinstance(planner, Staffed):
            return ()
        return tuple(PlannerFacts(one.name, one.alive, one.starts) for one in planner.staff())
