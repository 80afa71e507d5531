"""The folder in which everything is kept, for one service at a time."""

import contextlib
import sqlite3
from pathlib import Path

from orchestrator.ports.event_log import LogUnavailable


class DataFolder:
    """Where the event log and the readings are. Held by one service: two would write two histories."""

    def __init__(self, path: Path) -> None:
        """Name the folder; it is made when taken."""
        self.path = path
        self._lock: sqlite3.Connection | None = None

    @property
    def event_log(self) -> Path:
        """File of the event log."""
        return self.path / "events.db"

    @property
    def readings(self) -> Path:
        """File of the readings."""
        return self.path / "readings.db"

    def take(self) -> None:
        """Make the folder if need be and keep others out until `release`, or until this process ends, however.

        Raises:
            LogUnavailable: another service has it, or it cannot be made or written.
        """
        try:
            self.path.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise LogUnavailable(f"{self.path} cannot be made ({error.strerror}); name another data folder") from error
        # An open transaction is a lock that works on every system and that no crash leaves behind.
        lock = sqlite3.connect(self.path / "in-use.lock", timeout=0, isolation_level=None, check_same_thread=False)
        try:
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.Error as error:
            lock.close()
            raise LogUnavailable(_in_use(self.path, error)) from error
        self._lock = lock

    def release(self) -> None:
        """Let others in."""
        if self._lock is not None:
            with contextlib.suppress(sqlite3.Error):
                self._lock.execute("ROLLBACK")
            self._lock.close()
            self._lock = None


def _in_use(path: Path, error: sqlite3.Error) -> str:
    if getattr(error, "sqlite_errorname", "") == "SQLITE_BUSY":
        return f"{path} is used by another service; end that one, or name another data folder"
    return f"{path} cannot be written ({error}); give the service the right to write there"
