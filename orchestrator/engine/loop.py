"""The single writer: decide, put on disk, evolve, publish, answer, act; in this order and nowhere else."""

import asyncio
import contextlib
import logging
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from uuid import uuid4

from orchestrator.core.commands import Command, Tick
from orchestrator.core.effects import Effect
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId
from orchestrator.core.state import State
from orchestrator.engine.inbox import Answer, Inbox, Waiting
from orchestrator.engine.picture import Publisher
from orchestrator.engine.rules import Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.event_log import EventLog, LogUnavailable

LOG = logging.getLogger(__name__)
_MOST_IN_A_COMMIT = 2000
_LONGEST_TURN_S = 0.010
"""Deciding stops after this long and the rest waits for the next commit, so that the loop stays free."""
_RETRY_S = 1.0


@dataclass(slots=True)
class _Batch:
    """Commands that share one commit."""

    state: State
    records: list[Recorded] = field(default_factory=list)
    answers: list[tuple[Waiting, Answer]] = field(default_factory=list)
    effects: list[Effect] = field(default_factory=list)


def new_command_id(prefix: str) -> CommandId:
    """An id for a command that the engine itself sends."""
    return CommandId(f"{prefix}-{uuid4().hex}")


class Writer:
    """Turns commands into durable events, one commit at a time."""

    def __init__(
        self,
        *,
        rules: Rules,
        log: EventLog,
        clock: Clock,
        publisher: Publisher,
        on_effects: Callable[[list[Effect]], None],
        on_state: Callable[[], None],
    ) -> None:
        self._rules = rules
        self._log = log
        self._clock = clock
        self._publisher = publisher
        self._on_effects = on_effects
        self._on_state = on_state
        self._inbox = Inbox()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="event-log")
        self._stopped: Refusal | None = None

    @property
    def state(self) -> State:
        """The state after the last commit."""
        return self._publisher.state

    async def submit(self, command: Command) -> Answer:
        """Hand in a command; returns when it is on disk or refused. Loop thread only."""
        if self._stopped is not None:
            return self._stopped
        answer = await self._inbox.put(command)
        if self._stopped is not None:  # stopped while this waited for room
            self._answer_rest()
        return await asyncio.shield(answer)

    async def run(self) -> None:
        """Serve the inbox until cancelled; what was decided is put on disk first."""
        try:
            while self._stopped is None:
                await self._turn(await self._inbox.get())
        except asyncio.CancelledError:
            self._stop("the kitchen's service is shutting down")
            raise
        finally:
            self._answer_rest()

    def close(self) -> None:
        """Wait for the last commit and end the thread."""
        self._thread.shutdown(wait=True)

    def _answer_rest(self) -> None:
        for waiting in self._inbox.drain():
            waiting.resolve(self._stopped or _stopped_refusal("stopped"))

    async def _turn(self, first: Waiting) -> None:
        batch = _Batch(self.state)
        try:
            self._decide_all(batch, first)
        except Exception as error:
            LOG.exception("a rule of the kitchen is broken; the engine stops, nothing of this command was kept")
            self._stop(f"a rule is broken ({error})")
            for waiting, _ in batch.answers:
                waiting.resolve(self._stopped or _stopped_refusal("stopped"))
            first.resolve(self._stopped or _stopped_refusal("stopped"))
            return
        # Cancelled in the middle of a commit, the commit is still seen through: its commands are answered.
        commit = asyncio.ensure_future(self._commit(batch))
        try:
            await asyncio.shield(commit)
        except asyncio.CancelledError:
            await commit
            raise

    def _decide_all(self, batch: _Batch, first: Waiting) -> None:
        until = time.perf_counter() + _LONGEST_TURN_S
        waiting: Waiting | None = first
        while waiting is not None:
            batch.answers.append((waiting, 0))
            batch.answers[-1] = (waiting, self._decide(batch, waiting.command))
            full = len(batch.records) >= _MOST_IN_A_COMMIT or time.perf_counter() > until
            waiting = None if full else self._inbox.get_nowait()

    def _decide(self, batch: _Batch, command: Command) -> Answer:
        answered = batch.state.seen.get(command.command_id)
        if answered is not None:
            return answered
        now = self._clock.now()
        decision = self._rules.decide(batch.state, command, now, self._publisher.facts)
        if isinstance(decision, Refusal):
            return decision
        for event in decision.events:
            record = Recorded(seq=batch.state.seq + 1, at=now, command_id=command.command_id, event=event)
            batch.state = self._rules.evolve(batch.state, record)
            if batch.state.seq != record.seq:
                raise AssertionError(f"evolve left seq at {batch.state.seq} after record {record.seq}")
            batch.records.append(record)
        batch.effects.extend(decision.effects)
        return batch.state.seq

    async def _commit(self, batch: _Batch) -> None:
        if batch.records:
            loop = asyncio.get_running_loop()
            try:
                await loop.run_in_executor(self._thread, self._log.append, batch.records)
            except LogUnavailable as error:
                self._refuse_all(batch, error)
                return
            except Exception as error:  # anything else leaves it unknown whether the records are kept
                LOG.exception("the event log failed in an unforeseen way; the engine stops")
                self._stop(f"the event log failed ({error})")
                for waiting, _ in batch.answers:
                    waiting.resolve(self._stopped or _stopped_refusal("stopped"))
                return
            self._publisher.state = batch.state
            self._relink()
            self._publisher.publish()
        for waiting, answer in batch.answers:
            waiting.resolve(answer)
        if batch.records:
            self._on_state()
        if batch.effects:
            self._on_effects(batch.effects)

    def _refuse_all(self, batch: _Batch, error: LogUnavailable) -> None:
        LOG.error("nothing was recorded: %s", error)
        refusal = Refusal(
            code=RefusalCode.UNAVAILABLE,
            thing="event log",
            status=str(error),
            remedy="put it right and do it again; nothing was done",
        )
        for waiting, answer in batch.answers:
            # A refusal may have rested on what this commit would have changed, so it is answered the same way.
            known = isinstance(answer, int) and waiting.command.command_id in self.state.seen
            waiting.resolve(answer if known else refusal)
        self._publisher.log_trouble = str(error)
        self._publisher.linked = False
        self._publisher.publish()

    def _relink(self) -> None:
        self._publisher.linked = self._stopped is None
        if self._stopped is None:
            self._publisher.log_trouble = ""

    def _stop(self, status: str) -> None:
        if self._stopped is None:
            self._stopped = _stopped_refusal(status)
        self._publisher.linked = False
        self._publisher.log_trouble = status
        with contextlib.suppress(RuntimeError):
            self._publisher.publish()

    async def watch_log(self) -> None:
        """While the log cannot be written, try it every second with an empty commit."""
        while True:
            await asyncio.sleep(_RETRY_S)
            if self._publisher.linked or self._stopped is not None:
                continue
            try:
                await asyncio.get_running_loop().run_in_executor(self._thread, self._log.append, [])
            except LogUnavailable:
                continue
            self._relink()
            self._publisher.publish()
            await self.submit(Tick(command_id=new_command_id("tick")))


def _stopped_refusal(status: str) -> Refusal:
    return Refusal(
        code=RefusalCode.UNAVAILABLE,
        thing="engine",
        status=status,
        remedy="start it again; everything acknowledged is kept",
    )
