"""Readings in: stored first, then folded into what they mean; a change of meaning becomes a command."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Coroutine, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor

from orchestrator.core.commands import Command, RecordFact
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.pace_commands import RecordPace
from orchestrator.core.paces import is_known
from orchestrator.engine.drift_back import drifts_of, together_in_air
from orchestrator.engine.in_turn import in_turn, judged_between
from orchestrator.engine.inbox import Answer
from orchestrator.engine.loop import new_command_id
from orchestrator.engine.picture import Publisher
from orchestrator.engine.rules import Assess, Finished, Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.event_log import LogUnavailable, Reading, ReadingsStore
from orchestrator.ports.metering import Meter, Unmetered

LOG = logging.getLogger(__name__)
_FOLDS_A_TURN = 200
"""The loop is let go after so many readings."""


class Monitoring:
    """Keeps the facts of every probe fresh."""

    def __init__(
        self,
        *,
        rules: Rules,
        store: ReadingsStore,
        clock: Clock,
        publisher: Publisher,
        submit: Callable[[Command], Awaitable[Answer]],
        on_repeats: Callable[[Sequence[Reading]], None],
        meter: Meter | None = None,
    ) -> None:
        self._rules = rules
        self._store = store
        self._clock = clock
        self._publisher = publisher
        self._submit = submit
        self._on_repeats = on_repeats
        self._meter = meter or Unmetered()
        self.trouble = ""
        """Why readings cannot be kept; empty while they can."""
        self._assessor: Assess | None = None
        self._known: set[ProbeId] = set()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="readings")
        self._sent: dict[ProbeId, tuple[object, ...]] = {}
        self._unrecorded: set[ProbeId] = set()
        """Of these a fact was decided on and could not be recorded: the next one goes on record, whatever it is."""
        self._sending: set[asyncio.Task[None]] = set()

    async def on_readings(self, readings: Sequence[Reading]) -> None:
        """Store readings and judge the new ones; when this returns they are on disk.

        Raises:
            LogUnavailable: they could not be stored; do not acknowledge them.
        """
        if readings:
            loop = asyncio.get_running_loop()
            try:
                new = await loop.run_in_executor(self._thread, self._store.add, list(readings))
            except LogUnavailable as error:
                self.trouble = str(error)
                raise
            self.trouble = ""
            self._meter.readings_kept(len(new))
            if len(new) < len(readings):
                self._on_repeats(_left_out(readings, new))
            await self._fold(in_turn(new), record=True)
        self._publisher.publish()  # also when all were turned away: the counts have changed

    async def follow(self, readings: Iterable[Reading]) -> None:
        """Judge readings that somebody else has stored; nothing of it goes on record here."""
        await self._fold(readings, record=False)

    async def _fold(self, readings: Iterable[Reading], *, record: bool) -> None:
        assessor = self._get_assessor()
        if assessor is None:
            return
        for number, reading in enumerate(readings, 1):
            if reading.probe not in self._known:
                continue
            fact = assessor.fold(reading, self._publisher.state)
            if record:
                self._take(fact, assessor)
            if number % _FOLDS_A_TURN == 0:
                await asyncio.sleep(0)
        self._publisher.facts = assessor.facts
        for curve in assessor.finished():
            if not is_known(self._publisher.state.paces, curve.task):  # after a restart it is folded once more
                self._send(self._learn(curve))

    async def _learn(self, curve: Finished) -> None:
        answer = await self._submit(
            RecordPace(
                command_id=new_command_id("pace"),
                task=curve.task,
                equipment=curve.equipment,
                reached_at=curve.reached_at,
                target_c=curve.target_c,
                bands=curve.bands,
            )
        )
        if isinstance(answer, Refusal):
            LOG.warning("the pace of %s was not recorded: %s", curve.task, answer.status)

    def _get_assessor(self) -> Assess | None:
        kitchen = self._publisher.state.kitchen
        if self._assessor is None and kitchen is not None:
            self._assessor = self._rules.assessor(kitchen)
            self._known = {probe.id for probe in kitchen.probes}
        return self._assessor

    def _take(self, fact: ProbeFact, assessor: Assess) -> None:
        """Put a fact on record if it means something else than the last one did."""
        recorded = self._publisher.state.facts.get(fact.probe)
        if recorded is not None and fact.measured_at is None and fact.silent_since is None:
            return  # just restarted: not having listened yet is no news about a probe that was silent before
        known = self._sent.get(fact.probe)
        if known is None:
            known = (recorded or ProbeFact(probe=fact.probe, equipment=fact.equipment)).meaning()
        if fact.meaning() == known and fact.probe not in self._unrecorded:
            return
        self._unrecorded.discard(fact.probe)
        self._sent[fact.probe] = fact.meaning()
        self._publisher.facts = assessor.facts  # decided on together with the command
        self._send(self._record(fact))

    def _send(self, act: Coroutine[None, None, None]) -> None:
        task = asyncio.ensure_future(act)
        self._sending.add(task)
        task.add_done_callback(self._sending.discard)

    async def _record(self, fact: ProbeFact) -> None:
        answer = await self._submit(RecordFact(command_id=new_command_id("fact"), fact=fact))
        if isinstance(answer, Refusal) and answer.code is RefusalCode.UNAVAILABLE:
            # Other decisions may have rested on it since, such as an alarm that nothing else would end.
            self._unrecorded.add(fact.probe)
        if isinstance(answer, Refusal) and self._sent.get(fact.probe) == fact.meaning():
            LOG.warning("the fact of probe %s was not recorded: %s", fact.probe, answer.status)
            del self._sent[fact.probe]  # tried again with the next reading

    def listen_for_silence(self) -> None:
        """Judge which probes have not been heard; called every minute of kitchen time."""
        assessor = self._get_assessor()
        if assessor is None:
            return
        for fact in assessor.silence(self._clock.now(), self._publisher.state):
            self._take(fact, assessor)
        self._publisher.facts = assessor.facts
        self._publisher.publish()

    async def warm_up(self) -> None:
        """Fold the stored readings of the tasks in hand, so that a restart knows their curves."""
        state, now = self._publisher.state, self._clock.now()
        assessor = self._get_assessor()
        if state.kitchen is None or assessor is None:
            return
        loop = asyncio.get_running_loop()
        latest = await loop.run_in_executor(self._thread, self._store.latest)
        for probe in state.kitchen.probes:
            since = assessor.resume_from(probe.id, state, now)
            readings = await loop.run_in_executor(
                self._thread, judged_between, self._store.between, probe.id, since, now
            )
            if not readings and probe.id in latest:
                readings = [latest[probe.id]]  # since when it is silent
            await self._fold(readings, record=False)
        for group in together_in_air(state.kitchen):
            found = await loop.run_in_executor(self._thread, drifts_of, state, group, self._store.between, now)
            for probe_id, drift in found.items():
                assessor.restore_drift(probe_id, drift, state)
        assessor.resume(now, state)
        # All of them: decisions rest on these facts from now on, also where a reading was stored and its fact was not.
        for fact in tuple(assessor.facts.values()):
            self._take(fact, assessor)
        self._publisher.facts = assessor.facts

    async def close(self) -> None:
        """Wait until what was being stored and recorded is."""
        if self._sending:
            await asyncio.wait(tuple(self._sending), timeout=5)
        self._thread.shutdown(wait=True)


def _left_out(readings: Sequence[Reading], new: Sequence[Reading]) -> list[Reading]:
    """Those that the store had already: what is in the first and not in the second, counted."""
    left = list(readings)
    for reading in new:
        left.remove(reading)
    return left
