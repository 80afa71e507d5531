"""The machine on which the engine runs: started, cut off from its power at any instant, started again from its disk."""

import asyncio
import random
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch
from uuid import UUID

from orchestrator.core.commands import ImportKitchen
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId
from orchestrator.core.models import Kitchen
from orchestrator.core.state import State
from orchestrator.engine import DeskSettings, Engine, Rules
from orchestrator.engine.calling import Caller
from orchestrator.ports.calling import Message
from orchestrator.ports.event_log import LogUnavailable
from tests.simulation.faulty.called import Network
from tests.simulation.faulty.disk import Disk, DiskLog, DiskReadings, OnCommit
from tests.simulation.faulty.kept import DiskSnapshots
from tests.simulation.faulty.planner import QuickPlanner
from tests.simulation.faulty.sim_clock import WallTimers
from tests.simulation.faulty.virtual_loop import VirtualLoop
from tests.simulation.faulty.world import World

_DESK = DeskSettings(seconds=4.0, repair_seconds=1.0, instants=False)
_STARTS_S = 120.0
_AGAIN_S = 5.0
_LOG_LOOKED_AT_S = 5.0
"""The real one looks every second; 86,400 times a day is most of what a simulated day would cost."""
_KEPT_EVERY = 10
"""Records. A real one keeps its state every thousand; a simulated day has fewer than that."""


@dataclass(frozen=True, slots=True)
class Told:
    """Who is told of what happens in the machine."""

    committed: OnCommit
    started: Callable[[Sequence[Recorded], State], None]
    """With what the disk had, and the state that the engine made of it."""


class Machine:
    """Real engine, rules and planner; simulated loop, clock and disk."""

    def __init__(
        self, world: World, kitchen: Kitchen, chance: random.Random, told: Told, rules: Rules, log: type[DiskLog],
        network: Network | None = None, kept: type[DiskSnapshots] | None = None,
    ) -> None:  # fmt: skip
        self._world = world
        self.kitchen = kitchen
        self._chance = chance
        self._told = told
        self._rules = rules
        self._log = log
        self._network, self._snapshots = network, kept
        self.disk = Disk(random.Random(chance.random()))
        self.planner = QuickPlanner(random.Random(chance.random()))
        self.engine: Engine | None = None
        self.slow = False
        self.down_s = _AGAIN_S
        """How long it will stay away after the next power cut."""
        self.starts = self.cuts = 0
        self.up_since_s = 0.0
        self.complaints: list[str] = []
        self.calling: asyncio.Task[None] | None = None
        world.on_gone = self._gone

    def ids(self) -> AbstractContextManager[object]:
        """Within it, ids that the engine makes come from the seed, and it looks at the log less often."""
        told: dict[str, Any] = {"uuid4": lambda: UUID(int=self._chance.getrandbits(128)), "_RETRY_S": _LOG_LOOKED_AT_S}
        ids = ExitStack()
        ids.enter_context(patch.multiple("orchestrator.engine.loop", **told))
        ids.enter_context(patch("orchestrator.engine.calling.uuid4", told["uuid4"]))
        ids.enter_context(patch("orchestrator.engine.rebuilding.EVENTS_APART", _KEPT_EVERY))
        return ids

    def start(self) -> None:
        """Start the engine from the disk; a disk that takes nothing is tried again, as a supervisor does."""
        if self._world.loop is not None:
            return
        if self.disk.trouble:
            self._world.after(_AGAIN_S, self.start)
            return
        loop = VirtualLoop(self._world.now_s, self._latency)
        self._world.loop = loop
        self.starts += 1
        try:
            self.engine = loop.run_job(self._begin(loop), _STARTS_S)
        except LogUnavailable:
            self._world.power_gone()
        self.up_since_s = self._world.now_s

    async def _begin(self, loop: VirtualLoop) -> Engine:
        log = self._log(self.disk, self._told.committed)
        engine = Engine(
            rules=self._rules,
            log=log,
            readings=DiskReadings(self.disk),
            clock=self._world.clock,
            timers=lambda callback: WallTimers(self._world.clock, callback),
            planner=self.planner,
            desk=_DESK,
            stopwatch=loop.time,
            snapshots=self._snapshots(self.disk, log) if self._snapshots is not None else None,
        )
        kept = list(log.read())
        await engine.start()
        # Nothing else has run since: what the engine made of the log is what is shown.
        self._told.started(kept, engine.picture.state)
        if engine.picture.state.kitchen is None:
            await engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=self.kitchen))
        if self._network is not None:
            self._call(engine, self._network, loop)
        return engine

    def _call(self, engine: Engine, network: Network, loop: VirtualLoop) -> None:
        caller = Caller(
            state=lambda: engine.picture.state,
            submit=engine.submit,
            notifier=network,
            compose=lambda call: Message(str(call.seq), call.why),
        )
        engine.follow(caller.changed)
        self.calling = loop.create_task(caller.run(), name="calls")

    def _latency(self) -> float:
        return self._chance.uniform(0.2, 5.0) if self.slow else self._chance.uniform(0.0005, 0.004)

    def cut(self) -> None:
        """Pull the plug, now."""
        if self._world.loop is not None:
            self._world.power_gone()

    def _gone(self) -> None:
        self.cuts += 1
        self.engine = None
        self.disk.cut = self.disk.cut_readings = ""
        self._world.after(self.down_s, self.start)

    def stop(self) -> None:
        """End it as SIGTERM does."""
        if self.engine is not None and self._world.loop is not None:
            if self.calling is not None:
                self.calling.cancel()
            self._world.loop.run_job(self.engine.stop(), _STARTS_S)
            self.complaints += self._world.loop.complaints
            self.drop()

    def drop(self) -> None:
        """Nothing runs any more, and nothing will."""
        if self._world.loop is not None:
            self._world.loop.drop()
        self._world.loop = self.engine = None
