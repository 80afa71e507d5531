"""Ctrl-C in a terminal reaches every process of its group: those that we start leave it to us from the start."""

import contextlib
import signal
from collections.abc import Iterator
from multiprocessing import resource_tracker


@contextlib.contextmanager
def interrupts_blocked() -> Iterator[None]:
    """A process started in here inherits that Ctrl-C is blocked, and so is not interrupted while it still imports."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    resource_tracker.ensure_running()  # multiprocessing's own helper: starting it later would unblock the signal
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def ignore_interrupts() -> None:
    """For the process so started: it is its parent's business."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
