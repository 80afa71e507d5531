"""The engine as a whole: replay, then writer, planning desk, monitoring and timers on one asyncio loop."""

import asyncio
import logging
import time
from collections.abc import Callable, Sequence

from orchestrator.core.commands import Command
from orchestrator.core.models.questions import Answer as PlannerSays
from orchestrator.core.models.questions import Question
from orchestrator.engine.alarm_clock import AlarmClock, TimersFactory
from orchestrator.engine.desk import DeskSettings, PlanningDesk
from orchestrator.engine.inbox import Answer
from orchestrator.engine.lookout import Lookout
from orchestrator.engine.loop import Turn, Writer
from orchestrator.engine.monitoring import Monitoring
from orchestrator.engine.picture import Published, Publisher
from orchestrator.engine.rebuilding import Rebuilding
from orchestrator.engine.rules import Rules
from orchestrator.ports.clock import Clock
from orchestrator.ports.event_log import EventLog, Reading, ReadingsStore, Snapshots
from orchestrator.ports.metering import Meter
from orchestrator.ports.planning import OnBetter, Planner

LOG = logging.getLogger(__name__)


class Engine(Published):
    """Carries a kitchen. All methods but `picture` belong to the loop's thread."""

    def __init__(
        self,
        *,
        rules: Rules,
        log: EventLog,
        readings: ReadingsStore,
        clock: Clock,
        timers: TimersFactory,
        planner: Planner,
        desk: DeskSettings | None = None,
        on_repeats: Callable[[Sequence[Reading]], None] = lambda repeats: None,
        meter: Meter | None = None,
        stopwatch: Callable[[], float] = time.perf_counter,
        snapshots: Snapshots | None = None,
    ) -> None:
        """Wire the parts; ``on_repeats`` is told of readings that were kept before; ``stopwatch`` counts seconds."""
        self._rules = rules
        self._rebuilding = Rebuilding(snapshots)
        self._log = log
        self._readings = readings
        super().__init__(Publisher(clock))
        self._writer = Writer(
            rules=rules,
            log=log,
            clock=clock,
            publisher=self._publisher,
            on_turn=self._on_turn,
            meter=meter,
            stopwatch=stopwatch,
        )
        self._monitoring = Monitoring(
            rules=rules,
            store=readings,
            clock=clock,
            publisher=self._publisher,
            submit=self.submit,
            on_repeats=on_repeats,
            meter=meter,
        )
        self._planner = planner
        self._desk = self._desk_of(planner, clock, desk, meter)
        self._lookout = self._lookout_of(planner, clock) if desk is None or desk.instants else None
        listen = self._monitoring.listen_for_silence
        self._alarm_clock = AlarmClock(clock=clock, timers=timers, submit=self.submit, on_minute=listen)
        self._tasks: list[asyncio.Task[None]] = []

    def _desk_of(
        self, planner: Planner, clock: Clock, settings: DeskSettings | None, meter: Meter | None
    ) -> PlanningDesk:
        return PlanningDesk(
            rules=self._rules,
            planner=planner,
            clock=clock,
            publisher=self._publisher,
            submit=self.submit,
            settings=settings,
            meter=meter,
        )

    def _lookout_of(self, planner: Planner, clock: Clock) -> Lookout:
        publisher = self._publisher
        return Lookout(rules=self._rules, planner=planner, clock=clock, publisher=publisher, submit=self.submit)

    async def start(self) -> None:
        """Rebuild the state from the log, then begin to work.

        Raises:
            LogUnavailable: the log cannot be read.
        """
        self._publisher.state = await asyncio.to_thread(self._rebuilding.rebuild, self._log, self._rules.evolve)
        await self._monitoring.warm_up()
        self._publisher.publish()
        for name, work in (
            ("writer", self._writer.run()),
            ("log watch", self._writer.watch_log()),
            ("planning desk", self._desk.run()),
            *((("lookout", self._lookout.run()),) if self._lookout is not None else ()),
        ):
            task = asyncio.create_task(work, name=name)
            task.add_done_callback(self._ended)
            self._tasks.append(task)
        self._alarm_clock.start()
        state = self._publisher.state
        if state.kitchen is not None and (state.plan is None or state.replan_reason):
            self._desk.ask()

    def _ended(self, task: asyncio.Task[None]) -> None:
        if not task.cancelled() and (error := task.exception()) is not None:
            LOG.critical("the %s ended: %r", task.get_name(), error, exc_info=error)
            self._publisher.linked = False
            self._publisher.log_trouble = f"the {task.get_name()} ended ({error})"
            self._publisher.publish()

    async def stop(self) -> None:
        """Finish the commit in hand, answer everybody, and end. The log and store are left open."""
        self._alarm_clock.close()
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        await self._monitoring.close()
        self._writer.close()
        await self._rebuilding.close(self._publisher.state)

    @property
    def plan_trouble(self) -> str:
        """Why there is no new plan; empty while there is, or none is wanted."""
        return self._publisher.plan_trouble

    @property
    def readings_trouble(self) -> str:
        """Why readings cannot be kept; empty while they can."""
        return self._monitoring.trouble

    @property
    def busy_s(self) -> float:
        """For how long the writer's turn in hand has lasted; 0 between two. From any thread."""
        return self._writer.busy_s

    @property
    def begun(self) -> bool:
        """Whether it was started."""
        return bool(self._tasks)

    @property
    def working(self) -> bool:
        """Whether all of its tasks run."""
        return bool(self._tasks) and not any(task.done() for task in self._tasks)

    async def submit(self, command: Command) -> Answer:
        """Hand in a command.

        Returns:
            The seq of its last event once that is on disk (the state's seq when nothing had to change; of the
            first time when it is a repeat), or a Refusal.
        """
        return await self._writer.submit(command)

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> PlannerSays:
        """Ask the planner something; nothing in the kitchen changes by it. ``on_better`` is told how far it is.

        Raises:
            PlannerFailed: there is no answer.
        """
        return await self._planner.ask(question, on_better)

    async def on_readings(self, readings: Sequence[Reading]) -> None:
        """Take readings in; they are on disk when this returns.

        Raises:
            LogUnavailable: they could not be stored.
        """
        await self._monitoring.on_readings(readings)

    def touch(self) -> None:
        """Something outside the state changed, such as the clock's rate: publish a new picture."""
        self._publisher.publish()

    def _on_turn(self, turn: Turn) -> None:
        self._rebuilding.look(self._publisher.state)
        if turn.records or turn.ticked:
            self._alarm_clock.arm(turn.due, after_tick=turn.ticked)
        if turn.effects:
            self._desk.ask()
