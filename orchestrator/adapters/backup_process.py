"""A backup made in a process of its own: copying a year of readings must not take turns with the loop."""

import contextlib
import multiprocessing
import os
import signal
from datetime import datetime
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final

from orchestrator.adapters.backup import Places
from orchestrator.adapters.backup_rota import LastGood, take
from orchestrator.ports.event_log import LogUnavailable

_NICER: Final = 10
"""Everything else in the kitchen goes first."""


class BackupProcess:
    """One backup at a time; `end` cuts it short, and the next one sweeps away what it left."""

    def __init__(self) -> None:
        """Nothing is started yet."""
        self._context = multiprocessing.get_context("spawn")
        self._process: BaseProcess | None = None

    def take(self, source: Places, folder: Path, keep: int, now: datetime) -> LastGood:
        """As `backup_rota.take`. Blocks: call it from a thread.

        Raises:
            LogUnavailable: it could not be made, or was cut short.
        """
        ours, theirs = self._context.Pipe(duplex=False)
        # What it is told goes through a pipe: an address with a password never stands among a command's arguments.
        self._process = self._context.Process(
            target=_child, args=(theirs, source, folder, keep, now), name="coldwright-backup", daemon=True
        )
        self._process.start()
        theirs.close()
        try:
            told: LastGood | str = ours.recv()
        except (EOFError, OSError) as error:
            raise LogUnavailable("the backup was cut short; the older ones are kept") from error
        finally:
            ours.close()
            self._process.join(10)
        if isinstance(told, str):
            raise LogUnavailable(told)
        return told

    def end(self) -> None:
        """Cut short what is being made. Harmless when nothing is."""
        if self._process is not None and self._process.is_alive():
            self._process.kill()


def _child(pipe: Connection, source: Places, folder: Path, keep: int, now: datetime) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C in the terminal is the parent's business
    with contextlib.suppress(AttributeError, OSError):
        os.nice(_NICER)
    try:
        pipe.send(take(source, folder, keep, now))
    except LogUnavailable as error:
        pipe.send(str(error))
