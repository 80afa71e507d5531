"""Long work beside a running kitchen, in a process of its own: reading years of records must not take turns with the
loop."""

import contextlib
import multiprocessing
import os
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Final, ParamSpec, TypeVar

from orchestrator.adapters.child_signals import ignore_interrupts, interrupts_blocked
from orchestrator.ports.event_log import LogUnavailable

P = ParamSpec("P")
T = TypeVar("T")
_NICER: Final = 10
"""Everything else in the kitchen goes first."""


class NicedProcess:
    """One piece of work at a time; `end` cuts it short."""

    def __init__(self, name: str, cut_short: str) -> None:
        """Nothing is started yet.

        Args:
            name: As it is called among processes.
            cut_short: What is told where it did not come to its end.
        """
        self._name, self._cut_short = name, cut_short
        self._context = multiprocessing.get_context("spawn")
        self._process: BaseProcess | None = None

    def do(self, work: Callable[P, T], *args: P.args, **more: P.kwargs) -> T:
        """Call a function there. Blocks: call it from a thread. It, what it takes and what it tells are pickled.

        Raises:
            LogUnavailable: it raised that, or was cut short.
        """
        ours, theirs = self._context.Pipe(duplex=False)
        # What it is told goes through a pipe: an address with a password never stands among a command's arguments.
        self._process = self._context.Process(
            target=_child, args=(theirs, work, args, more), name=f"coldwright-{self._name}", daemon=True
        )
        with interrupts_blocked():
            self._process.start()
        theirs.close()
        try:
            went_well, told = ours.recv()
        except (EOFError, OSError) as error:
            raise LogUnavailable(self._cut_short) from error
        finally:
            ours.close()
            self._process.join(10)
        if not went_well:
            raise LogUnavailable(told)
        found: T = told
        return found

    def end(self) -> None:
        """Cut short what is being done. Harmless when nothing is."""
        if self._process is not None and self._process.is_alive():
            self._process.kill()


def _child(pipe: Connection, work: Callable[..., Any], args: tuple[Any, ...], more: dict[str, Any]) -> None:
    ignore_interrupts()
    with contextlib.suppress(AttributeError, OSError):
        os.nice(_NICER)
    try:
        pipe.send((True, work(*args, **more)))
    except LogUnavailable as error:
        pipe.send((False, str(error)))
