"""A kitchen as a display process has it: the log followed, readings folded, acts handed to the writer."""

import asyncio
import logging
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import COMMANDS, Command
from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId
from orchestrator.core.models.questions import Answer as PlannerSays
from orchestrator.core.models.questions import Question
from orchestrator.engine.in_turn import in_turn, judged_between
from orchestrator.engine.inbox import Answer
from orchestrator.engine.monitoring import Monitoring
from orchestrator.engine.picture import Published, Publisher
from orchestrator.engine.relaying import outcome_of
from orchestrator.engine.replay import replay
from orchestrator.engine.rules import Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.event_log import AHEAD, EventLog, LogUnavailable, Reading, ReadingsStore
from orchestrator.ports.planning import OnBetter, Planner
from orchestrator.ports.relay import Relay, WriterSays

LOG = logging.getLogger(__name__)
_LOOKS_EVERY_S: Final = 0.2
_READS_EVERY_S: Final = 1.0
_LISTENS_EVERY_S: Final = 60.0
"""As the writer does: so often a probe may turn out to be silent, and what was drawn for an instant is drawn anew."""
_SILENT_S: Final = 5.0
"""A writer that has said nothing for so long is not there."""
_ANSWER_EVERY_S: Final = 0.05
_MOST: Final = 2000


class Follower(Published):
    """Implements of `Engine` what a gateway asks of one; nothing is decided or written here."""

    def __init__(
        self,
        *,
        rules: Rules,
        log: EventLog,
        readings: ReadingsStore,
        clock: Clock,
        planner: Planner,
        relay: Relay,
    ) -> None:
        """Wire the parts; the log is opened to be read only."""
        self._rules, self._log, self._readings, self._relay = rules, log, readings, relay
        self._planner = planner
        self._clock = clock
        super().__init__(Publisher(clock))
        self._monitoring = Monitoring(
            rules=rules,
            store=readings,
            clock=clock,
            publisher=self._publisher,
            submit=_nothing_on_record,
            on_repeats=lambda repeats: None,
        )
        self._heard: dict[ProbeId, datetime] = {}
        self._read_at = self._listened_at = 0.0
        self.says = WriterSays()
        """What the writer last said of itself."""

    async def start(self) -> None:
        """Rebuild the state from the log. Raises: LogUnavailable."""
        self._publisher.state = await asyncio.to_thread(replay, self._log, self._rules.evolve)
        await self._monitoring.warm_up()
        self._heard = {probe: fact.measured_at for probe, fact in self.picture.facts.items() if fact.measured_at}
        self._publisher.publish()

    async def run(self) -> None:
        """Follow until cancelled; whatever hinders it is waited for, with the last state marked as such."""
        while True:
            try:
                await self._look()
            except LogUnavailable as error:
                self._unlink(str(error))
            except Exception as error:  # of another version, say: a screen that stands still must not look alive
                self._unlink(f"what the writer recorded cannot be followed ({type(error).__name__})", error)
            await asyncio.sleep(_LOOKS_EVERY_S)

    async def _look(self) -> None:
        now_s = asyncio.get_running_loop().time()
        moved = await self._follow_log()
        if now_s - self._read_at >= _READS_EVERY_S:
            moved = await self._follow_readings() or moved
            self._read_at = now_s
        moved = await self._hear_writer() or moved  # last: only who got here may say that all is well
        if now_s - self._listened_at >= _LISTENS_EVERY_S:
            self._listened_at = now_s
            self._monitoring.listen_for_silence()
        elif moved:
            self._publisher.publish()

    async def _follow_log(self) -> bool:
        state = self._publisher.state
        records: Sequence[Recorded] = await asyncio.to_thread(self._newer, state.seq)
        for record in records:
            if record.seq != state.seq + 1:
                raise LogUnavailable(f"the event log jumps from record {state.seq} to {record.seq}: it is damaged")
            state = self._rules.evolve(state, record)
        self._publisher.state = state
        return bool(records)

    def _newer(self, seq: int) -> list[Recorded]:
        found = []
        for record in self._log.read(seq):
            found.append(record)
            if len(found) >= _MOST:
                break
        return found

    async def _hear_writer(self) -> bool:
        ago_s, says = await asyncio.to_thread(self._relay.heard)
        silent = ago_s > _SILENT_S
        trouble = "the service that writes this kitchen is not heard: another may be taking over" if silent else ""
        before = (self._publisher.linked, self._publisher.log_trouble, self.says)
        self.says = says
        self._publisher.log_trouble = trouble or says.trouble
        self._publisher.linked = not self._publisher.log_trouble
        self._publisher.planning, self._publisher.better_plans = says.planning, says.better_plans
        return before != (self._publisher.linked, self._publisher.log_trouble, self.says)

    async def _follow_readings(self) -> bool:
        kitchen = self._publisher.state.kitchen
        if kitchen is None:
            return False
        now = self._clock.now()
        since = {probe.id: self._heard_until(probe.id, now) for probe in kitchen.probes}
        fresh = await asyncio.to_thread(self._newer_readings, since, now)
        for reading in fresh:
            self._heard[reading.probe] = max(reading.judged_at, self._heard.get(reading.probe, reading.judged_at))
        await self._monitoring.follow(fresh)
        return bool(fresh)

    def _heard_until(self, probe: ProbeId, now: datetime) -> datetime:
        heard = self._heard.get(probe, now - timedelta(minutes=5))
        if heard > now + AHEAD:  # the clock was set back: what comes next is earlier than what was heard
            heard = self._heard[probe] = now
        return heard

    def _newer_readings(self, since: Mapping[ProbeId, datetime], now: datetime) -> list[Reading]:
        found = [
            one
            for probe, at in since.items()
            for one in judged_between(self._readings.between, probe, at, now)
            if one.judged_at > at
        ]
        return in_turn(found)

    def _unlink(self, trouble: str, fault: Exception | None = None) -> None:
        if self._publisher.linked or self._publisher.log_trouble != trouble:
            LOG.error("the last state is shown: %s", trouble, exc_info=fault)
            self._publisher.linked, self._publisher.log_trouble = False, trouble
            self._publisher.publish()
        elif self.picture.state is not self._publisher.state:  # the log is followed, something else is in the way
            self._publisher.publish()

    async def submit(self, command: Command) -> Answer:
        """Hand it to the writer and wait for the answer, and until it is seen here.

        Returns:
            As the writer answered. Waits for as long as the caller does: a repeat of the id is harmless.
        """
        body = COMMANDS.dump_json(command).decode()
        await asyncio.to_thread(self._relay.hand_in, command.command_id, body)
        while not (told := await asyncio.to_thread(self._relay.outcome, command.command_id)):
            await asyncio.sleep(_ANSWER_EVERY_S)
        answer = outcome_of(told)
        while isinstance(answer, int) and self.picture.state.seq < answer:
            await asyncio.sleep(_ANSWER_EVERY_S)  # whoever acted sees what they did
        return answer

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> PlannerSays:
        """Ask the planner something. Raises: PlannerFailed."""
        return await self._planner.ask(question, on_better)

    async def stop(self) -> None:
        """Let go of the thread that folds."""
        await self._monitoring.close()


async def _nothing_on_record(_: Command) -> Answer:
    """What readings mean is put on record by the writer, who folds the same ones."""
    return 0
