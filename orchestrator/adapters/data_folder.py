"""The folder in which everything is kept, for one service at a time."""

import contextlib
import sqlite3
from pathlib import Path
from threading import Event
from typing import Final

from orchestrator.ports.event_log import LogUnavailable

_TRIES_EVERY_S: Final = 0.5


class FolderInUse(LogUnavailable):
    """Another service has the folder."""


class DataFolder:
    """Where the event log and the readings are. Held by one service: two would write two histories."""

    def __init__(self, path: Path) -> None:
        """Name the folder; it is made when taken."""
        self.path = path
        self._lock: sqlite3.Connection | None = None

    @property
    def name(self) -> str:
        """For people."""
        return str(self.path)

    @property
    def event_log(self) -> Path:
        """File of the event log."""
        return self.path / "events.db"

    @property
    def readings(self) -> Path:
        """File of the readings."""
        return self.path / "readings.db"

    @property
    def state(self) -> Path:
        """File of the folded state; without it a start takes longer, and nothing is lost."""
        return self.path / "state.snapshot"

    @property
    def access(self) -> Path:
        """File of who may do what."""
        return self.path / "access.db"

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
            raise _refusal(self.path, error) from error
        self._lock = lock

    def wait(self, stop: Event) -> bool:
        """Wait until the folder is free, and take it. Blocks: call it from a thread.

        Returns:
            Whether it is ours; False when told to stop.

        Raises:
            LogUnavailable: it cannot be made or written.
        """
        while not stop.is_set():
            if self.regain():
                return True
            stop.wait(_TRIES_EVERY_S)
        return False

    def regain(self) -> bool:
        """Take it if nobody else has it. Returns: whether it is ours. Raises: LogUnavailable."""
        try:
            self.take()
        except FolderInUse:
            return False
        return True

    def held(self) -> bool:
        """Whether it is still ours: no one can take it away from a running process."""
        return self._lock is not None

    def release(self) -> None:
        """Let others in."""
        if self._lock is not None:
            with contextlib.suppress(sqlite3.Error):
                self._lock.execute("ROLLBACK")
            self._lock.close()
            self._lock = None


def _refusal(path: Path, error: sqlite3.Error) -> LogUnavailable:
    if getattr(error, "sqlite_errorname", "") == "SQLITE_BUSY":
        return FolderInUse(f"{path} is used by another service; end that one, or name another data folder")
    return LogUnavailable(f"{path} cannot be written ({error}); give the service the right to write there")
