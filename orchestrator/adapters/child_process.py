"""One warm child process that answers questions over a pipe; stopped by message, restarted when it dies or overruns."""

import asyncio
import contextlib
import logging
import multiprocessing
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import count
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any

from pydantic import ValidationError

from orchestrator.adapters.child_signals import ignore_interrupts, interrupts_blocked
from orchestrator.core.models.questions import ANSWERS, QUESTIONS, Answer, PlanProgress, Question
from orchestrator.ports.planning import PlannerFailed

LOG = logging.getLogger(__name__)

Worker = Callable[[Connection], None]
"""Top-level function of the child: receives ``("ask", number, json)`` and ``("stop", number, "")``, sends
``("better", number, json)`` meanwhile and ``("answer", number, json)`` or ``("failed", number, words)`` at the end."""
_PATIENCE_S = 1.0
"""A child that has not answered so long after it was told to stop is ended: it hangs."""


@dataclass(eq=False, slots=True)
class _Talk:
    """One question on its way."""

    number: int
    question: Question
    urgent: bool
    on_better: Callable[[PlanProgress], None]
    stop: threading.Event = field(default_factory=threading.Event)
    dropped: bool = False
    """Nobody waits for the answer any more; without it, ``stop`` only means to make room for something urgent."""


class ChildProcess:
    """One question at a time. What is urgent goes first: it stops what is being answered, which begins anew after it.

    Cancelling `ask` tells the child to stop; the process lives on, and the asker need not wait for that.
    """

    def __init__(self, worker: Worker, name: str, *, grace_s: float, patience_s: float = _PATIENCE_S) -> None:
        """Name the child's function; nothing is started yet.

        Args:
            worker: See `Worker`.
            name: Of the process.
            grace_s: Seconds beyond those that a question allows itself.
            patience_s: Seconds to answer in after being told to stop.
        """
        self._worker = worker
        self._name = name
        self.grace_s = grace_s
        self._patience_s = patience_s
        self._context = multiprocessing.get_context("spawn")
        self.process: BaseProcess | None = None
        self.starts = 0
        self._pipe: Connection | None = None
        self._bell, self._bell_rope = self._context.Pipe(duplex=False)
        self._thread = ThreadPoolExecutor(1, thread_name_prefix=f"{name}-pipe")
        self._turns = asyncio.Condition()
        self._current: _Talk | None = None
        self._urgent = 0
        self._numbers = count(1)
        self._closed = False

    def start(self) -> None:
        """Start the child now, so that it is warm when it is asked."""
        if self._closed or (self.process is not None and self.process.is_alive()):
            return
        self._end_child()
        ours, theirs = self._context.Pipe()
        self.process = self._context.Process(target=_child, args=(self._worker, theirs), name=self._name, daemon=True)
        with interrupts_blocked():
            self.process.start()
        theirs.close()
        self.starts += 1
        self._pipe = ours

    @property
    def name(self) -> str:
        """Of the process."""
        return self._name

    @property
    def alive(self) -> bool:
        """Whether it runs. From any thread."""
        process = self.process
        return process is not None and process.is_alive()

    def revive(self) -> None:
        """Start it anew if it died while nobody asked; in the pipe's own thread, so that no talk is disturbed."""
        if not self._closed and self._current is None and not self.alive:
            self._thread.submit(self.start)

    async def ask(
        self,
        question: Question,
        *,
        urgent: bool = False,
        on_better: Callable[[PlanProgress], None] | None = None,
    ) -> Answer:
        """Ask the child; ``on_better`` is called in the loop.

        Raises:
            PlannerFailed: the process died, answered nothing in time, or has no answer.
        """
        loop = asyncio.get_running_loop()

        def tell(progress: PlanProgress) -> None:
            if on_better is not None:
                loop.call_soon_threadsafe(on_better, progress)

        talk = _Talk(next(self._numbers), question, urgent, tell)
        work = asyncio.create_task(self._answer(talk))
        try:
            return await asyncio.shield(work)
        except asyncio.CancelledError:
            talk.dropped = True
            self._stop(talk)
            work.add_done_callback(_unheard)
            raise

    async def _answer(self, talk: _Talk) -> Answer:
        while True:
            await self._take_turn(talk)
            try:
                if self._closed or talk.dropped:
                    raise PlannerFailed("the planner has been closed" if self._closed else "nobody waits for it")
                answer = await asyncio.get_running_loop().run_in_executor(self._thread, self._converse, talk)
                if not talk.stop.is_set() or talk.dropped:
                    return answer
                talk.stop.clear()  # something urgent came in between: once more, from the start
            finally:
                self._current = None
                async with self._turns:
                    self._turns.notify_all()

    async def _take_turn(self, talk: _Talk) -> None:
        async with self._turns:
            self._urgent += talk.urgent
            if talk.urgent and self._current is not None and not self._current.urgent:
                self._stop(self._current)
            try:
                await self._turns.wait_for(lambda: self._current is None and (talk.urgent or not self._urgent))
            finally:
                self._urgent -= talk.urgent
            self._current = talk

    def _stop(self, talk: _Talk) -> None:
        talk.stop.set()
        with contextlib.suppress(OSError):
            self._bell_rope.send_bytes(b"!")

    def _converse(self, talk: _Talk) -> Answer:
        """In the pipe's own thread."""
        self.start()
        pipe, process = self._pipe, self.process
        if pipe is None or process is None:
            raise PlannerFailed("the planner has been closed")
        try:
            pipe.send(("ask", talk.number, QUESTIONS.dump_json(talk.question).decode()))
            outcome, told = self._listen(talk, pipe, process)
        except PlannerFailed:
            self._end_child()
            self.start()
            raise
        except (EOFError, OSError) as error:
            self._end_child()
            raise PlannerFailed("its process ended before it answered") from error
        if outcome == "failed":
            raise PlannerFailed(told)
        with _understood():
            return ANSWERS.validate_json(told)

    def _listen(self, talk: _Talk, pipe: Connection, process: BaseProcess) -> tuple[str, str]:
        """Wait for the answer, pass improvements on, and tell the child to stop when that is wanted."""
        allowed_s = float(getattr(talk.question, "seconds", 0.0)) + self.grace_s
        ends, stopped = time.monotonic() + allowed_s, False
        while True:
            if talk.stop.is_set() and not stopped:
                pipe.send(("stop", talk.number, ""))
                stopped, ends = True, min(ends, time.monotonic() + self._patience_s)
            ready: list[Any] = wait([pipe, self._bell, process.sentinel], max(0.0, ends - time.monotonic()))
            if self._bell in ready:
                self._bell.recv_bytes()
            if pipe in ready:
                outcome, number, told = pipe.recv()
                if number != talk.number:
                    continue
                if outcome != "better":
                    return outcome, told
                with _understood():
                    talk.on_better(PlanProgress.model_validate_json(told))
            elif process.sentinel in ready:
                raise EOFError
            if time.monotonic() >= ends:
                said = "it did not stop when told to" if stopped else f"no answer within {allowed_s:.0f} s"
                raise PlannerFailed(said)

    def _kill(self) -> None:
        if self.process is not None and self.process.pid is not None:
            self.process.kill()

    def _end_child(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.join(5)
        if self._pipe is not None:
            self._pipe.close()
        self.process, self._pipe = None, None

    async def close(self) -> None:
        """End the process."""
        self._closed = True
        self._kill()
        await asyncio.to_thread(self._thread.shutdown, True)
        self._end_child()
        self._bell.close()
        self._bell_rope.close()


def _unheard(work: asyncio.Task[Answer]) -> None:
    """Take the outcome of what nobody waits for, so that nothing complains that it was never looked at."""
    if not work.cancelled():
        work.exception()


@contextlib.contextmanager
def _understood() -> Iterator[None]:
    try:
        yield
    except ValidationError as error:
        raise PlannerFailed(f"its answer cannot be understood: {error.errors()[0]['msg']}") from error


def _child(worker: Worker, connection: Connection) -> None:
    """Run the worker until the pipe closes. Ctrl-C in the terminal is the parent's business."""
    ignore_interrupts()
    with contextlib.suppress(EOFError, BrokenPipeError, ConnectionResetError):
        worker(connection)
