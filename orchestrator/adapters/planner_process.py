"""The planner in one warm child process, asked over a pipe; restarted when it dies or overruns."""

import asyncio
import contextlib
import logging
import multiprocessing
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Literal

from pydantic import ValidationError

from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import ANSWERS, QUESTIONS, Answer, PlanQuestion, Question
from orchestrator.ports.planning import PlannerFailed

LOG = logging.getLogger(__name__)

Worker = Callable[[Connection], None]
"""Top-level function of the child: receives questions as JSON, sends ``("answer", json)`` or ``("failed", words)``."""

_GRACE_S = 20.0
"""Beyond the seconds asked for: the first question waits for the solver's library to load."""
_POLL_S = 0.25


class PlannerProcess:
    """Implements `ports.planning.Planner`. One question at a time; a second one waits for the first.

    Cancelling a question ends the child, because a solver cannot be interrupted from outside; a new one is
    started at once, so that it is warm by the next question.
    """

    def __init__(self, worker: Worker, *, grace_s: float = _GRACE_S) -> None:
        """Name the child's function; nothing is started yet."""
        self._worker = worker
        self._grace_s = grace_s
        self._context = multiprocessing.get_context("spawn")
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="planner-pipe")
        self._turn = asyncio.Lock()
        self._closed = False

    def start(self) -> None:
        """Start the child now, so that it is warm when it is asked."""
        if self._closed or (self._process is not None and self._process.is_alive()):
            return
        self._end_child()
        ours, theirs = self._context.Pipe()
        self._process = self._context.Process(
            target=_child, args=(self._worker, theirs), name="coldwright-planner", daemon=True
        )
        with _interrupts_blocked():
            self._process.start()
        theirs.close()
        self._pipe = ours

    async def plan(self, request: PlanRequest, *, effort: Literal["repair", "full"], seconds: float) -> PlanAnswer:
        """Ask the child for a plan.

        Raises:
            PlannerFailed: the process died or answered nothing in time.
        """
        answer = await self.ask(PlanQuestion(request=request, effort=effort, seconds=seconds))
        if not isinstance(answer, PlanAnswer):
            raise PlannerFailed(f"it answered {answer.kind!r} when asked for a plan")
        return answer

    async def ask(self, question: Question) -> Answer:
        """Ask the child.

        Raises:
            PlannerFailed: the process died, answered nothing in time, or has no answer.
        """
        async with self._turn:
            if self._closed:
                raise PlannerFailed("the planner has been closed")
            loop = asyncio.get_running_loop()
            asking = loop.run_in_executor(self._thread, self._ask, question)
            try:
                return await asyncio.shield(asking)
            except asyncio.CancelledError:
                self._kill()
                with contextlib.suppress(PlannerFailed):
                    await asking
                if not self._closed:
                    loop.run_in_executor(self._thread, self.start)
                raise

    def _ask(self, question: Question) -> Answer:
        self.start()
        pipe, process = self._pipe, self._process
        if pipe is None or process is None:
            raise PlannerFailed("the planner has been closed")
        try:
            pipe.send(QUESTIONS.dump_json(question).decode())
            allowed_s = getattr(question, "seconds", 0.0) + self._grace_s
            left_s = allowed_s
            while not pipe.poll(_POLL_S):
                left_s -= _POLL_S
                if left_s <= 0:
                    raise PlannerFailed(f"no answer within {allowed_s:.0f} s")
                if not process.is_alive():
                    raise EOFError
            outcome, told = pipe.recv()
        except PlannerFailed:
            self._end_child()
            raise
        except (EOFError, OSError) as error:
            self._end_child()
            raise PlannerFailed("its process ended before it answered") from error
        if outcome == "failed":
            raise PlannerFailed(told)
        try:
            return ANSWERS.validate_json(told)
        except ValidationError as error:
            raise PlannerFailed(f"its answer cannot be understood: {error.errors()[0]['msg']}") from error

    def _kill(self) -> None:
        if self._process is not None and self._process.pid is not None:
            self._process.kill()

    def _end_child(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join(5)
        if self._pipe is not None:
            self._pipe.close()
        self._process, self._pipe = None, None

    async def close(self) -> None:
        """End the process."""
        self._closed = True
        self._kill()
        await asyncio.to_thread(self._thread.shutdown, True)
        self._end_child()


@contextlib.contextmanager
def _interrupts_blocked() -> Iterator[None]:
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


def _child(worker: Worker, connection: Connection) -> None:
    """Run the worker until the pipe closes. Ctrl-C in the terminal is the parent's business."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(EOFError, BrokenPipeError, ConnectionResetError):
        worker(connection)
