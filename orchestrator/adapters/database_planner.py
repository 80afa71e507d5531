"""The planner elsewhere: questions go into a database, and worker processes anywhere answer them."""

import asyncio
import logging
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Final, Literal, TypeVar

from pydantic import ValidationError

from orchestrator.adapters.job_store import JobStore, Lane, Progress
from orchestrator.adapters.planner_process import is_quick
from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import ANSWERS, QUESTIONS, Answer, PlanProgress, PlanQuestion, Question
from orchestrator.ports.event_log import LogUnavailable
from orchestrator.ports.planning import Member, OnBetter, PlannerFailed

LOG = logging.getLogger(__name__)
T = TypeVar("T")
NOBODY: Final = "workers"
"""Named where no worker answers at all."""
_GRACE_S: Final = 20.0
_LOOKS_EVERY_S: Final = 0.1
_BEATS_EVERY_S: Final = 2.0
_STAFF_EVERY_S: Final = 3.0
_THREADS: Final = 4


class DatabasePlanner:
    """Implements `ports.planning.Planner`. A worker that is lost is replaced by another: it only takes longer."""

    def __init__(self, url: str, *, grace_s: float = _GRACE_S) -> None:
        """Name the database; it is opened with the first question.

        Args:
            url: As `Address.of` reads it; its kitchen tells whose questions they are.
            grace_s: Seconds to wait beyond those that a question allows itself.
        """
        self._url = url
        self._grace_s = grace_s
        self._store: JobStore | None = None
        self._opening = threading.Lock()
        self._threads = ThreadPoolExecutor(_THREADS, thread_name_prefix="planner-database")
        self._staff: tuple[Member, ...] = ()
        self._staff_at = 0.0
        self._looking: asyncio.Task[None] | None = None

    async def plan(
        self,
        request: PlanRequest,
        *,
        effort: Literal["repair", "full"],
        seconds: float,
        on_better: OnBetter | None = None,
    ) -> PlanAnswer:
        """Ask for a plan. Cancelled, whoever works at it stops.

        Raises:
            PlannerFailed: nobody answered in time, or the database cannot be reached.
        """
        question = PlanQuestion(request=request, effort=effort, seconds=seconds)
        answer = await self._ask(question, on_better)
        if not isinstance(answer, PlanAnswer):
            raise PlannerFailed(f"it answered {answer.kind!r} when asked for a plan")
        return answer

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        """Ask anything. Raises: PlannerFailed."""
        return await self._ask(question, on_better)

    async def _ask(self, question: Question, on_better: OnBetter | None) -> Answer:
        lane: Lane = "quick" if is_quick(question) else "plan" if question.kind == "plan" else "question"
        told = await asyncio.to_thread(lambda: QUESTIONS.dump_json(question).decode())
        name = await self._put_down(lane, told)
        allowed_s = float(getattr(question, "seconds", 0.0)) + self._grace_s
        try:
            found = await self._follow(name, allowed_s, on_better)
            if found.state != "answered":
                raise PlannerFailed(found.told or "its question is not there any more")
            return await asyncio.to_thread(_read, found.told)
        finally:
            self._threads.submit(self._drop, name)  # not waited for, also when this was cancelled

    async def _put_down(self, lane: Lane, told: str) -> str:
        """The name of the question in the database; one cancelled meanwhile is taken back as soon as it is there."""
        put = asyncio.ensure_future(self._in_thread(lambda store: store.ask(lane, told)))
        try:
            return await asyncio.shield(put)
        except asyncio.CancelledError:
            put.add_done_callback(self._take_back)
            raise

    def _take_back(self, put: asyncio.Future[str]) -> None:
        if not put.cancelled() and put.exception() is None:
            self._threads.submit(self._drop, put.result())

    async def _follow(self, name: str, allowed_s: float, on_better: OnBetter | None) -> Progress:
        ends, beaten, betters = time.monotonic() + allowed_s, 0.0, 0
        while True:
            beat = time.monotonic() - beaten > _BEATS_EVERY_S
            beaten = time.monotonic() if beat else beaten
            found = await self._in_thread(partial(_look, name, beat=beat))
            if found.betters > betters and found.better:
                betters = found.betters
                if on_better is not None:
                    on_better(PlanProgress.model_validate_json(found.better))
            if found.state not in ("waiting", "taken"):
                return found
            if time.monotonic() > ends:
                nobody = "no worker took it: start 'coldwright worker'" if found.state == "waiting" else "no answer"
                raise PlannerFailed(f"{nobody} within {allowed_s:.0f} s")
            await asyncio.sleep(_LOOKS_EVERY_S)

    async def _in_thread(self, work: Callable[[JobStore], T]) -> T:
        try:
            return await asyncio.get_running_loop().run_in_executor(self._threads, lambda: work(self._opened()))
        except LogUnavailable as error:
            raise PlannerFailed(str(error)) from error

    def _opened(self) -> JobStore:
        with self._opening:  # the first questions come at once, each in a thread: one of them makes the tables
            if self._store is None:
                self._store = JobStore(self._url)
            return self._store

    def _drop(self, name: str) -> None:
        try:
            self._opened().drop(name)
        except LogUnavailable as error:  # its asker is silent from now on: it is dropped by that
            LOG.warning("a question is not taken back: %s", error)

    def staff(self) -> Sequence[Member]:
        """The workers that live, as of a few seconds ago; one that is not alive where there are none."""
        if not self._staff_at:
            return ()
        return self._staff or (Member(NOBODY, False, 0),)

    def revive(self) -> None:
        """Look who lives: workers are started by whoever runs them."""
        if time.monotonic() - self._staff_at > _STAFF_EVERY_S and (self._looking is None or self._looking.done()):
            self._looking = asyncio.ensure_future(self._look_for_staff())

    async def _look_for_staff(self) -> None:
        try:
            found = await self._in_thread(lambda store: store.workers())
            self._staff = tuple(Member(name, True, starts) for name, starts in found)
        except PlannerFailed:
            self._staff = ()
        self._staff_at = time.monotonic()

    async def close(self) -> None:
        """Release the connections; workers live on."""
        if self._looking is not None:
            self._looking.cancel()
        await asyncio.to_thread(self._threads.shutdown, True)
        if self._store is not None:
            self._store.close()


def _look(name: str, store: JobStore, *, beat: bool) -> Progress:
    return store.look(name, beat=beat)


def _read(told: str) -> Answer:
    try:
        return ANSWERS.validate_json(told)
    except ValidationError as error:
        raise PlannerFailed(f"its answer cannot be understood: {error.errors()[0]['msg']}") from error
