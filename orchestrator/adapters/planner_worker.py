"""A worker: takes questions out of the database, has its own planner answer them, and puts the answers back."""

import asyncio
import logging
import os
import secrets
import socket
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Final, TypeVar

from pydantic import ValidationError

from orchestrator.adapters.job_store import JobStore, Lane, Taken
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.core.models.questions import ANSWERS, QUESTIONS, Answer, PlanProgress, PlanQuestion
from orchestrator.ports.event_log import LogUnavailable
from orchestrator.ports.planning import PlannerFailed

LOG = logging.getLogger(__name__)
T = TypeVar("T")
LANES: Final[tuple[Lane, ...]] = ("quick", "plan", "question")
_IDLE_S: Final = 0.1
_AWAY_S: Final = 2.0
_KEEPS_EVERY_S: Final = 0.5
_BEATS_EVERY_S: Final = 2.0


class PlannerWorker:
    """Serves all kitchens of a database: one short question, one plan and one other question at a time."""

    def __init__(self, store: JobStore, planner: PlannerProcess) -> None:
        """Args:
        store: Where the questions are.
        planner: Answers them; started and closed by whoever made it.
        """
        self._store = store
        self._planner = planner
        self.name = f"{socket.gethostname()}, process {os.getpid()}, {secrets.token_hex(2)}"
        self._threads = ThreadPoolExecutor(len(LANES) + 1, thread_name_prefix="jobs")

    async def run(self) -> None:
        """Work until cancelled; a database that is away is waited for. What is in hand then goes to others at once."""
        try:
            await asyncio.gather(self._beat(), *(self._serve(lane) for lane in LANES))
        finally:
            # From here on nothing may be awaited that a second cancellation could cut short.
            try:
                self._threads.submit(self._store.leave, self.name).result(10)
            except (LogUnavailable, TimeoutError) as error:
                LOG.warning("others find out by themselves that this worker ended: %s", error)
            self._threads.shutdown(wait=False)

    async def _beat(self) -> None:
        while True:
            self._planner.revive()
            starts = sum(one.starts for one in self._planner.staff())
            await self._in_thread(lambda starts=starts: self._store.beat(self.name, starts))  # type: ignore[misc]
            await asyncio.sleep(_BEATS_EVERY_S)

    async def _serve(self, lane: Lane) -> None:
        while True:
            job = await self._in_thread(lambda: self._store.take(lane, self.name))
            if job is None:
                await asyncio.sleep(_IDLE_S)
                continue
            try:
                await self._answer(job)
            except Exception as error:  # left to others, the same question would end them one after the other
                LOG.exception("a question could not be answered", extra={"job": job.name})
                await self._fail(job, f"a worker failed over it ({type(error).__name__}), as its log tells")

    async def _answer(self, job: Taken) -> None:
        found: list[PlanProgress] = []
        work = asyncio.ensure_future(self._ask(job, found.append))
        try:
            while not work.done():
                await asyncio.wait((work,), timeout=_KEEPS_EVERY_S)
                if not work.done() and not await self._keep(job, found):
                    LOG.info("a question is not wanted any more", extra={"job": job.name})
                    return
            await self._finish(job, work)
        finally:
            work.cancel()

    async def _keep(self, job: Taken, found: list[PlanProgress]) -> bool:
        last = found[-1].model_dump_json() if found else ""
        kept = await self._in_thread(lambda: self._store.keep(job, self.name, len(found), last))
        if not kept:
            await self._fail(job, "it was dropped")
        return kept is True

    async def _ask(self, job: Taken, on_better: Callable[[PlanProgress], None]) -> Answer:
        try:
            question = await asyncio.to_thread(QUESTIONS.validate_json, job.question)
        except ValidationError as error:
            raise PlannerFailed(
                f"a worker of another version cannot read the question ({error.errors()[0]['msg']}): "
                "run the same version everywhere"
            ) from error
        if isinstance(question, PlanQuestion):
            return await self._planner.plan(
                question.request, effort=question.effort, seconds=question.seconds, on_better=on_better
            )
        return await self._planner.ask(question, on_better)

    async def _finish(self, job: Taken, work: asyncio.Future[Answer]) -> None:
        try:
            told = ANSWERS.dump_json(work.result()).decode()
            await self._in_thread(lambda: self._store.finish(job, self.name, "answered", told))
        except PlannerFailed as error:
            await self._fail(job, str(error))

    async def _fail(self, job: Taken, why: str) -> None:
        await self._in_thread(lambda: self._store.finish(job, self.name, "failed", why))

    async def _in_thread(self, work: Callable[[], T]) -> T | None:
        """None while the database is away: what was in hand is taken again when its worker was silent for too long."""
        try:
            return await asyncio.get_running_loop().run_in_executor(self._threads, work)
        except LogUnavailable as error:
            LOG.warning("%s; waiting for it", error)
            await asyncio.sleep(_AWAY_S)
            return None
