"""The gateway of this process: any thread on one side, the engine's loop on the other."""

import asyncio
from collections.abc import Callable, Coroutine, Sequence
from concurrent.futures import CancelledError
from dataclasses import replace
from datetime import datetime
from itertools import islice
from typing import Any, TypeVar

from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models.questions import Answer, Question
from orchestrator.core.probe_book import ProbeBook
from orchestrator.engine import Engine
from orchestrator.engine.follower import Follower
from orchestrator.gateway import approval
from orchestrator.gateway.door import Accepted, Outcome, PracticeControl, Snapshot
from orchestrator.gateway.vitals import Vitals
from orchestrator.ports.event_log import EventLog, Reading, ReadingsStore
from orchestrator.ports.planning import OnBetter, PlannerFailed
from orchestrator.ports.probes import RejectedCounts
from orchestrator.ports.recipes import RecipeTexts
from orchestrator.ports.setting_up import KitchenFolder

_T = TypeVar("_T")


class LocalGateway:
    """Implements `door.Gateway` over an engine that runs on a loop of this process.

    `submit` waits, so it may be called from any thread but the loop's own, where waiting would stop the very
    loop that has to answer: there it raises RuntimeError at once; await `submit_async` instead. All other
    methods may be called from anywhere. `history` and `readings` read the disk and are for threads, too.
    """

    def __init__(
        self,
        engine: Engine | Follower,
        log: EventLog,
        readings: ReadingsStore,
        loop: asyncio.AbstractEventLoop,
        *,
        recipe_texts: RecipeTexts,
        kitchen_folder: KitchenFolder | None = None,
        rejected: RejectedCounts | None = None,
        broker_url: Callable[[], str] = lambda: "",
        practice: bool = False,
        control: PracticeControl | None = None,
        vitals: Callable[[], Vitals] = Vitals,
        metrics: Callable[[], bytes] = lambda: b"",
    ) -> None:
        self._engine = engine
        self._log = log
        self._store = readings
        self._loop = loop
        self._recipe_texts = recipe_texts
        self._kitchen_folder = kitchen_folder
        self._rejected = rejected or RejectedCounts()
        self._broker_url = broker_url
        self._is_practice = practice
        self._control = control
        self._vitals = vitals
        self._metrics = metrics

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """Hand in a command and wait until it is durable or refused.

        Raises:
            TimeoutError: not durable in time; sending the same command again is harmless.
            RuntimeError: called from the loop's own thread.
        """
        told = approval.to_be_asked(self.snapshot(), command)
        if isinstance(told, ChangeKitchen):
            told = self._wait(self._guarded(told), approval.LONGEST_S)
        return told if isinstance(told, Refusal) else self._wait(self._submitted(told or command), timeout_s)

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """Ask the planner something and wait for its answer.

        Raises:
            TimeoutError: no answer in time; the question is dropped.
            RuntimeError: called from the loop's own thread.
        """
        return self._wait(self.ask_async(question, on_better), timeout_s)

    async def ask_async(self, question: Question, on_better: OnBetter | None = None) -> Answer | Refusal:
        """The same for callers on the loop."""
        try:
            return await self._engine.ask(question, on_better)
        except PlannerFailed as failure:
            return Refusal(
                code=RefusalCode.UNAVAILABLE,
                thing="planner",
                status=str(failure),
                remedy="ask again in a moment",
            )

    def _wait(self, work: Coroutine[Any, Any, _T], timeout_s: float) -> _T | Refusal:
        """The result of work on the loop, for another thread."""
        if _running_loop() is self._loop:
            work.close()
            raise RuntimeError("this would wait for its own loop: await submit_async or ask_async there")
        if self._loop.is_closed() or not self._loop.is_running():
            work.close()
            return _ended()
        try:
            waiting = asyncio.run_coroutine_threadsafe(work, self._loop)
        except RuntimeError:  # the loop was closed this very moment
            work.close()
            return _ended()
        try:
            return waiting.result(timeout_s)
        except TimeoutError:
            waiting.cancel()
            raise
        except CancelledError:  # the loop ended while this waited
            return _ended()

    async def submit_async(self, command: Command) -> Outcome:
        """The same for callers on the loop; waits without blocking it."""
        told = approval.to_be_asked(self.snapshot(), command)
        if isinstance(told, ChangeKitchen):
            told = await self._guarded(told)
        return told if isinstance(told, Refusal) else await self._submitted(told or command)

    async def _guarded(self, command: ChangeKitchen) -> ChangeKitchen | Refusal:
        """The command, once the planner has said that no order is lost by it."""
        snapshot, refused = self.snapshot(), None
        for seconds in approval.EFFORTS_S:
            answer = await self.ask_async(approval.question(snapshot, command, seconds))
            refused = approval.verdict(command, answer)
            if refused is None:
                return approval.based(snapshot, command)
        assert refused is not None
        return refused

    async def _submitted(self, command: Command) -> Outcome:
        answer = await self._engine.submit(command)
        return answer if isinstance(answer, Refusal) else Accepted(answer)

    def snapshot(self) -> Snapshot:
        """The latest frozen picture."""
        picture = self._engine.picture
        return Snapshot(
            version=picture.version,
            state=picture.state,
            facts=picture.facts,
            now=picture.now,
            rate=picture.rate,
            practice=self._is_practice,
            rejected=dict(self._rejected.by_reason),
            rejected_last=dict(self._rejected.last),
            broker_url=self._broker_url(),
            linked=picture.linked,
            planning=picture.planning,
            better_plans=picture.better_plans,
        )

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """Stored readings, in order, with the offsets that held when they were measured."""
        found = self._store.between(probe, since, until)
        book = self._engine.picture.state.probes
        return found if probe not in book.offsets else [_with_offset(book, reading) for reading in found]

    def history(self, after: int = 0, limit: int = 200) -> Sequence[Recorded]:
        """The first ``limit`` events after ``after``, newest last."""
        return list(islice(self._log.read(after), limit))

    def on_change(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Call back, from the loop, after every change; returns how to stop. The callback must not block."""
        return self._engine.follow(callback)

    def vitals(self) -> Vitals:
        """How the service itself does, now."""
        return self._vitals()

    def metrics(self) -> bytes:
        """What was counted, in Prometheus's text form."""
        return self._metrics()

    @property
    def recipe_texts(self) -> RecipeTexts:
        """Reads and writes recipes as the kitchen's own files have them."""
        return self._recipe_texts

    @property
    def kitchen_folder(self) -> KitchenFolder | None:
        """Where the kitchen's files lie; none where none was named."""
        return self._kitchen_folder

    def trouble(self) -> str:
        """Why commands are not accepted or no plan is made; empty when all is well."""
        return self._engine.picture.trouble

    @property
    def practice(self) -> PracticeControl | None:
        """None in a real kitchen."""
        return self._control

    @practice.setter
    def practice(self, control: PracticeControl | None) -> None:
        self._control = control


def _with_offset(book: ProbeBook, reading: Reading) -> Reading:
    offset = book.offset_at(reading.probe, reading.measured_at)
    return replace(reading, celsius=reading.celsius + offset) if offset else reading


def _running_loop() -> asyncio.AbstractEventLoop | None:
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


def _ended() -> Refusal:
    return Refusal(
        code=RefusalCode.UNAVAILABLE,
        thing="engine",
        status="the kitchen's service has ended",
        remedy="start it again; everything acknowledged is kept",
    )
