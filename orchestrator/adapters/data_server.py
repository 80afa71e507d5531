"""Log and readings of a kitchen on a PostgreSQL server, for one writing service at a time."""

import contextlib
import hashlib
import time
from threading import Event
from typing import Final

from sqlalchemy import Connection, Engine, create_engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from orchestrator.adapters.database_address import Address
from orchestrator.adapters.database_errors import explain
from orchestrator.ports.event_log import LogUnavailable

_TRIES_EVERY_S: Final = 0.5
_KEEP_ALIVE: Final = (("tcp_keepalives_idle", 5), ("tcp_keepalives_interval", 2), ("tcp_keepalives_count", 3))
"""A machine that falls silent loses its lock after about eleven seconds, not after the system's two hours."""


class DataServer:
    """The lock of a kitchen in the database: whoever holds it writes. The fence of the log stands behind it."""

    def __init__(self, url: str) -> None:
        """Name the server and the kitchen.

        Raises:
            LogUnavailable: the URL is none.
        """
        self.event_log = self.readings = self.access = url
        self._address = Address.of(url)
        self._engine: Engine | None = None
        self._lock: Connection | None = None
        self.clock_off_s: float | None = None
        """How far our clock was ahead of the server's at the last look, in seconds."""

    @property
    def name(self) -> str:
        """For people, without a password."""
        return self._address.name

    def take(self) -> None:
        """Keep other services out until `release`, or until this process or its connection ends.

        Raises:
            LogUnavailable: another service has it, or the server cannot be reached.
        """
        if not self.regain():
            raise LogUnavailable(
                f"{self.name} is written by another service; end that one, or start this one with --standby to wait"
            )

    def wait(self, stop: Event) -> bool:
        """Wait until the kitchen is free (and the server there), and take it. Blocks: call it from a thread.

        Returns:
            Whether it is ours; False when told to stop.
        """
        while not stop.is_set():
            with contextlib.suppress(LogUnavailable):
                if self.regain():
                    return True
            stop.wait(_TRIES_EVERY_S)
        return False

    def held(self) -> bool:
        """Whether the lock is still ours: it ends with its connection. Blocks."""
        if self._lock is None:
            return False
        try:
            asked = time.time()
            told = self._lock.exec_driver_sql(self._holds()).one()
            # The server looked at its clock somewhere between question and answer.
            self.clock_off_s = (asked + time.time()) / 2 - float(told[0])
            return bool(told[1])
        except DBAPIError:
            return False

    def regain(self) -> bool:
        """Take the kitchen if nobody else has it. Returns: whether it is ours. Raises: LogUnavailable."""
        self.release()
        self._engine = create_engine(
            self._address.url, poolclass=NullPool, isolation_level="AUTOCOMMIT", connect_args={"timeout": 5}
        )
        try:
            self._lock = self._engine.connect()
            for setting, value in _KEEP_ALIVE:
                self._lock.exec_driver_sql(f"SET {setting} TO {value}")
            got = bool(self._lock.exec_driver_sql(f"SELECT pg_try_advisory_lock({self._key()})").scalar())
        except DBAPIError as error:
            self.release()
            raise LogUnavailable(explain(self.name, error.orig)) from error
        if not got:
            self.release()
        return got

    def release(self) -> None:
        """Let others in."""
        if self._lock is not None:
            with contextlib.suppress(DBAPIError):
                self._lock.close()
            self._lock = None
        if self._engine is not None:
            self._engine.dispose()
            self._engine = None

    def _key(self) -> int:
        """A number for the kitchen's name: advisory locks have no other names."""
        digest = hashlib.sha256(b"coldwright writer " + self._address.schema.encode()).digest()
        return int.from_bytes(digest[:8], "big", signed=True)

    def _holds(self) -> str:
        """What time it is there, and whether the lock is ours."""
        key = self._key() & (2**64 - 1)
        return (
            "SELECT extract(epoch FROM clock_timestamp()), EXISTS (SELECT 1 FROM pg_locks WHERE"  # noqa: S608 - numbers of our own
            " locktype = 'advisory' AND pid = pg_backend_pid() AND granted"
            f" AND classid::bigint = {key >> 32} AND objid::bigint = {key & 0xFFFFFFFF})"
        )
