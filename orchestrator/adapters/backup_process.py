"""A backup made in a process of its own: copying a year of readings must not take turns with the loop."""

from datetime import datetime
from pathlib import Path

from orchestrator.adapters.backup import Places
from orchestrator.adapters.backup_rota import LastGood, take
from orchestrator.adapters.niced_process import NicedProcess


class BackupProcess:
    """One backup at a time; `end` cuts it short, and the next one sweeps away what it left."""

    def __init__(self) -> None:
        """Nothing is started yet."""
        self._process = NicedProcess("backup", "the backup was cut short; the older ones are kept")

    def take(self, source: Places, folder: Path, keep: int, now: datetime) -> LastGood:
        """As `backup_rota.take`. Blocks: call it from a thread.

        Raises:
            LogUnavailable: it could not be made, or was cut short; the older ones are kept.
        """
        return self._process.do(take, source, folder, keep, now)

    def end(self) -> None:
        """Cut short what is being made. Harmless when nothing is."""
        self._process.end()
