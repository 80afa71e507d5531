"""The record proven soon after a start: one from the kept state has not read the old records, and damage in them must
not wait for a night."""

import asyncio
import logging
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from orchestrator.adapters.chain import Break, Head
from orchestrator.adapters.niced_process import NicedProcess
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.gateway.vitals import ProofFacts
from orchestrator.ports.event_log import LogUnavailable

LOG = logging.getLogger(__name__)
AFTER_START_S: Final = 15.0
"""Whoever waits for the screens goes first."""
_EVERY_S: Final = 24 * 3600.0
"""A service that runs for months looks again each day, also where no backup does."""
_AGAIN_S: Final = 600.0
"""After a look that came to nothing: a lock held too long, a process that was killed."""


def follow_chain(event_log: Path | str) -> tuple[Head, Break | None]:
    """Follow the chain of a log from its first record; the pen stays with whoever has it. Raises: LogUnavailable."""
    log = SqlEventLog(event_log, read_only=True)
    try:
        return log.verify()
    finally:
        log.close()


class Proving:
    """Follows the chain in a process of its own, with the least claim on the processor; the loop only waits for it."""

    def __init__(self, event_log: Path | str, *, after_s: float = AFTER_START_S) -> None:
        """Nothing is proven yet."""
        self._event_log, self._after_s = event_log, after_s
        self._process = NicedProcess("proof", "the process that follows them was cut short")
        self.facts: ProofFacts | None = None
        """What the last look found; none before the first. From any thread."""

    async def run(self) -> None:
        """Prove it until cancelled."""
        wait_s = self._after_s
        try:
            while True:
                await asyncio.sleep(wait_s)
                wait_s = _EVERY_S if await self.prove() else _AGAIN_S
        finally:
            self._process.end()

    async def prove(self) -> bool:
        """Once, now. Returns: whether the record is known to be whole."""
        try:
            head, broken = await asyncio.to_thread(self._process.do, follow_chain, self._event_log)
        except LogUnavailable as error:
            LOG.error("the record could not be proven: %s", error)
            self.facts = ProofFacts(datetime.now(UTC), unreadable=str(error))
            return False
        self.facts = ProofFacts(datetime.now(UTC), seq=head.seq)
        if broken is None:
            LOG.info("the record is whole up to record %d", head.seq)
            return True
        LOG.error("the record is damaged: record %d is %s", broken.seq, broken.what)
        self.facts = ProofFacts(datetime.now(UTC), seq=head.seq, broken_at=broken.seq, how=broken.what)
        return False
