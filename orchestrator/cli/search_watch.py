"""A search in a terminal: what it has found so far is told on stderr, and Ctrl-C ends it with the best plan so far."""

import signal
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from types import FrameType
from typing import Protocol, TypeVar

import click
from rich.console import Console
from rich.status import Status

T = TypeVar("T")


class Found(Protocol):
    """What a search tells of a better plan; the planner's schedules do."""

    @property
    def terms(self) -> tuple[tuple[str, int, float], ...]:
        """Each goal by name, with its stage and what it came to."""


_TOLD = ("orders not met", "quality windows broken", "weighted minutes late", "tasks moved")
"""Of all goals, those that are told while the search goes on; the plan that is printed has them all."""


class SearchWatch:
    """Keeps an eye on one search.

    The search runs in a thread of its own: Python handles Ctrl-C in the main thread alone, and that one would otherwise
    be inside the solver.
    """

    def __init__(self, title: str, *, plain: bool, had: str = "this is the best plan it had by then") -> None:
        """Prepare to watch.

        Args:
            title: What is being planned.
            plain: A line for each better plan, whatever stderr is; else one line that changes, on a terminal only.
            had: What is said of the answer where Ctrl-C has cut the search short.
        """
        self._had = had
        self._title, self._plain = title, plain
        self._stopped = Event()
        self._began = time.monotonic()
        console = Console(stderr=True, highlight=False)
        self._status: Status | None = None
        if console.is_terminal and not plain:
            self._status = console.status(f"{title} ...")

    @property
    def cut_short(self) -> bool:
        """Whether Ctrl-C has ended the search."""
        return self._stopped.is_set()

    def stop(self) -> bool:
        """The planner's hook: True ends the search with what there is."""
        return self._stopped.is_set()

    def better(self, found: Found) -> None:
        """The planner's hook: told of each better plan, from whichever thread found it."""
        self.say(told(found))

    def better_of(self, name: str, found: Found) -> None:
        """The same where several plans are made one after the other: of which it is told."""
        self.say(f"{name}: {told(found)}")

    def say(self, said: str) -> None:
        """Tell how far it is, from whichever thread."""
        line = f"{time.monotonic() - self._began:.1f} s: {said}"
        if self._plain:
            click.echo(line, err=True)
        elif self._status is not None:
            # In this order: a narrow terminal cuts what comes last.
            self._status.update(f"{line}; Ctrl-C takes it. {self._title}")

    def run(self, search: Callable[[], T]) -> T:
        """Carry out a search; the first Ctrl-C ends it early, a second one ends the program."""
        before = signal.signal(signal.SIGINT, self._interrupted)
        if self._status is not None:
            self._status.start()
        try:
            with ThreadPoolExecutor(1, "search") as thread:
                answer = thread.submit(search).result()
        finally:
            if self._status is not None:
                self._status.stop()
            signal.signal(signal.SIGINT, before)
        if self.cut_short:
            seconds = time.monotonic() - self._began
            click.echo(f"The search was cut short after {seconds:.1f} s: {self._had}.", err=True)
        return answer

    def _interrupted(self, number: int, frame: FrameType | None) -> None:
        if self._stopped.is_set():
            raise KeyboardInterrupt
        self._stopped.set()


def told(found: Found) -> str:
    """The goals that matter first, in one line."""
    amounts = {name: value for name, _, value in found.terms}
    return ", ".join(f"{amounts[name]:g} {name}" for name in _TOLD if amounts.get(name)) or "all on time"
