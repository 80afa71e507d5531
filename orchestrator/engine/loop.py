"""The single writer: decide, put on disk, evolve, publish, answer, act; in this order and nowhere else."""

import asyncio
import logging
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime
from uuid import uuid4

from orchestrator.core.commands import Command, Tick
from orchestrator.core.effects import Effect
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId
from orchestrator.core.state import Facts, State
from orchestrator.engine.inbox import Answer, Inbox, Waiting
from orchestrator.engine.picture import Publisher
from orchestrator.engine.rules import Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.event_log import EventLog, LogUnavailable
from orchestrator.ports.metering import Meter, Unmetered

LOG = logging.getLogger(__name__)
_MOST_IN_A_COMMIT = 2000
_LONGEST_TURN_S = 0.050
"""Deciding stops after this long and the rest waits for the next commit, so that nobody waits for everybody."""
_RETRY_S = 1.0
_TRIED_EVERY_S = 30.0
"""An act is rehearsed with a log that nobody wrote for so long: a full disk is known before somebody acts."""
COMMAND: ContextVar[str] = ContextVar("command", default="")
"""Id of the command that is being decided, for whatever is logged meanwhile."""


@dataclass(slots=True)
class Turn:
    """Commands that share one commit, and what became of them."""

    state: State
    facts: Facts
    waiting: list[Waiting]
    records: list[Recorded] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    """In the order of ``waiting``; those beyond the last answer go into the next turn."""
    effects: list[Effect] = field(default_factory=list)
    ticked: bool = False
    decided_at: datetime | None = None
    """The instant of the last decision: what falls due after it has been judged by nobody yet."""
    due: datetime | None = None
    """When something is due next; known when there were records or a tick."""


def new_command_id(prefix: str) -> CommandId:
    """An id for a command that the engine itself sends."""
    return CommandId(f"{prefix}-{uuid4().hex}")


class Writer:
    """Turns commands into durable events, one commit at a time.

    Deciding and appending run in one thread of their own, because judging a plan takes longer than the loop
    may be held; everything that others see is changed in the loop, after the commit.
    """

    def __init__(
        self,
        *,
        rules: Rules,
        log: EventLog,
        clock: Clock,
        publisher: Publisher,
        on_turn: Callable[[Turn], None],
        meter: Meter | None = None,
        stopwatch: Callable[[], float] = time.perf_counter,
    ) -> None:
        self._stopwatch = stopwatch
        self._rules = rules
        self._log = log
        self._clock = clock
        self._publisher = publisher
        self._on_turn = on_turn
        self._meter = meter or Unmetered()
        self._inbox = Inbox()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="writer")
        self._stopped: Refusal | None = None
        self._busy_since: float | None = None
        self._wrote_at = self._stopwatch()

    @property
    def busy_s(self) -> float:
        """For how long the turn in hand has been deciding and writing; 0 between two. From any thread."""
        since = self._busy_since
        return 0.0 if since is None else self._stopwatch() - since

    async def submit(self, command: Command) -> Answer:
        """Hand in a command; returns when it is on disk or refused. Loop thread only."""
        begun = time.perf_counter()
        answer = self._stopped or await self._answered(command)
        outcome = answer.code.value if isinstance(answer, Refusal) else "accepted"
        self._meter.answered(command.kind, outcome, time.perf_counter() - begun)
        _log(command, answer)
        return answer

    async def _answered(self, command: Command) -> Answer:
        answer = await self._inbox.put(command)
        if self._stopped is not None:  # stopped while this waited for room
            self._answer_rest([])
        return await asyncio.shield(answer)

    async def run(self) -> None:
        """Serve the inbox until cancelled; a turn that has begun is seen through."""
        rest: list[Waiting] = []
        try:
            while self._stopped is None:
                waiting = rest or [await self._inbox.get()]
                waiting.extend(self._inbox.drain(_MOST_IN_A_COMMIT - len(waiting)))
                rest = waiting
                rest = await self._turn(Turn(self._publisher.state, self._publisher.facts, waiting))
        except asyncio.CancelledError:
            self._stop("the kitchen's service is shutting down")
            raise
        finally:
            self._answer_rest(rest)

    def close(self) -> None:
        """Wait for the last commit and end the thread."""
        self._thread.shutdown(wait=True)

    def _answer_rest(self, rest: list[Waiting]) -> None:
        for waiting in (*rest, *self._inbox.drain()):
            waiting.resolve(self._stopped or _stopped_refusal("stopped"))

    async def _turn(self, turn: Turn) -> list[Waiting]:
        """Returns those that wait for the next turn."""
        work = asyncio.get_running_loop().run_in_executor(self._thread, self._work, turn)
        self._busy_since = self._stopwatch()
        try:
            await asyncio.shield(asyncio.wait((work,)))
        except asyncio.CancelledError:
            await asyncio.wait((work,))
            self._settle(turn, work.exception())
            raise
        finally:
            self._busy_since = None
        return self._settle(turn, work.exception())

    def _work(self, turn: Turn) -> None:
        """Decide and append; in the writer's thread."""
        until = self._stopwatch() + _LONGEST_TURN_S
        for waiting in turn.waiting:
            turn.answers.append(self._decide(turn, waiting.command))
            if len(turn.records) >= _MOST_IN_A_COMMIT or self._stopwatch() > until:
                break
        if turn.records:
            self._log.append(turn.records)
        if turn.records or turn.ticked:
            turn.due = self._rules.next_due(turn.state, turn.decided_at or self._clock.now())

    def _decide(self, turn: Turn, command: Command) -> Answer:
        answered = turn.state.seen.get(command.command_id)
        if answered is not None:
            return answered
        turn.ticked = turn.ticked or isinstance(command, Tick)
        now = self._clock.now()
        COMMAND.set(command.command_id)
        decision = self._rules.decide(turn.state, command, now, turn.facts)
        if isinstance(decision, Refusal):
            return decision
        turn.decided_at = now
        for event in decision.events:
            record = Recorded(seq=turn.state.seq + 1, at=now, command_id=command.command_id, event=event)
            turn.state = self._rules.evolve(turn.state, record)
            if turn.state.seq != record.seq:
                raise AssertionError(f"evolve left seq at {turn.state.seq} after record {record.seq}")
            turn.records.append(record)
        turn.effects.extend(decision.effects)
        return turn.state.seq

    def _settle(self, turn: Turn, error: BaseException | None) -> list[Waiting]:
        """After the commit, in the loop: show the new state, then answer. Returns who waits for the next turn."""
        done, rest = turn.waiting[: len(turn.answers)], turn.waiting[len(turn.answers) :]
        if isinstance(error, LogUnavailable):
            self._refuse(turn, done, error)
            return rest
        if error is not None:
            LOG.error("the engine stops, nothing of this was acknowledged: %r", error, exc_info=error)
            self._stop(f"a rule is broken ({error})")
            for waiting in turn.waiting:
                waiting.resolve(self._stopped or _stopped_refusal("stopped"))
            return []
        if turn.records:
            self._publisher.state = turn.state
            self._wrote_at = self._stopwatch()
            self._meter.recorded(len(turn.records))
            self._relink()
            self._publisher.publish()
        for waiting, answer in zip(done, turn.answers, strict=True):
            waiting.resolve(answer)
        self._on_turn(turn)
        return rest

    def _refuse(self, turn: Turn, done: list[Waiting], error: LogUnavailable) -> None:
        LOG.error("nothing was recorded: %s", error)
        refusal = Refusal(
            code=RefusalCode.UNAVAILABLE,
            thing="event log",
            status=str(error),
            remedy="put it right and do it again; nothing was done",
        )
        seen = self._publisher.state.seen
        for waiting in done:
            # Refusals, too: they may have rested on what this commit would have changed.
            waiting.resolve(seen.get(waiting.command.command_id, refusal))
        self._unlink(str(error))

    def _unlink(self, trouble: str) -> None:
        if not self._publisher.linked and self._publisher.log_trouble == trouble:
            return
        self._publisher.log_trouble = trouble
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
        self._publisher.publish()

    async def watch_log(self) -> None:
        """Rehearse an act with the log: every second while it cannot be written, else when nobody writes."""
        while True:
            await asyncio.sleep(_RETRY_S)
            was_linked = self._publisher.linked
            idle_s = self._stopwatch() - self._wrote_at
            if self._stopped is not None or (was_linked and idle_s < _TRIED_EVERY_S):
                continue
            try:
                await asyncio.get_running_loop().run_in_executor(self._thread, self._log.rehearse)
            except LogUnavailable as error:
                if was_linked:
                    LOG.error("nothing can be recorded: %s", error)
                self._unlink(str(error))
                continue
            self._wrote_at = self._stopwatch()
            if was_linked:
                continue
            LOG.warning("the record can be written again")
            self._relink()
            self._publisher.publish()
            await self.submit(Tick(command_id=new_command_id("tick")))


def _log(command: Command, answer: Answer) -> None:
    """One line a command, with its id for programs that read logs; what the engine tells itself only when asked for."""
    told = {"command_id": command.command_id, "command": command.kind}
    if isinstance(answer, Refusal):
        level = logging.DEBUG if isinstance(command, Tick) else logging.INFO  # before there is a kitchen each is
        LOG.log(level, "%s was refused: %s", command.kind, answer.code, extra={**told, "outcome": answer.code.value})
        return
    level = logging.INFO if getattr(command, "person", None) else logging.DEBUG
    LOG.log(level, "%s is on record", command.kind, extra={**told, "outcome": "accepted", "seq": answer})


def _stopped_refusal(status: str) -> Refusal:
    return Refusal(
        code=RefusalCode.UNAVAILABLE,
        thing="engine",
        status=status,
        remedy="start it again; everything acknowledged is kept",
    )
