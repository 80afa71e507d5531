"""One kitchen lived through with faults: engine, planner, people, heat, broker and disk, from one seed."""

import hashlib
import random
from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.alarms import conditions
from orchestrator.core.calls import due_calls
from orchestrator.core.commands import Command
from orchestrator.core.events import Recorded
from orchestrator.core.models import Kitchen
from orchestrator.engine import Engine, Rules
from orchestrator.gateway.door import Outcome
from orchestrator.simulator.crew import Crew
from orchestrator.simulator.physics import Physics, Thermometers
from orchestrator.simulator.scene import Scene, scene_of
from tests.core.balance import closes
from tests.simulation.faulty.broker import Broker, Take
from tests.simulation.faulty.called import LONGEST_CALL_S, Network, with_calls
from tests.simulation.faulty.disk import DiskLog
from tests.simulation.faulty.door import Door
from tests.simulation.faulty.faults import Fault
from tests.simulation.faulty.happenings import Happenings
from tests.simulation.faulty.judge import Judge, hold
from tests.simulation.faulty.kept import DiskSnapshots
from tests.simulation.faulty.machine import Machine, Told
from tests.simulation.faulty.world import World

_STEP: Final = timedelta(minutes=5)
_SETTLES_S: Final = 45.0
"""An engine looks again 30 s after a tick that settled nothing."""
_CALLED_WITHIN: Final = timedelta(minutes=1)
_CALM_S: Final = 1200.0
"""At the end everything works again, and what waits must come through."""


@dataclass(frozen=True, slots=True)
class Lived:
    """What became of a kitchen."""

    trace: str
    """SHA-256 over all records, answers and power cuts, in their order."""
    counted: Counter[str]


class House:
    """One kitchen; use `live` once.

    Args:
        kitchen: Whose days are lived through.
        seed: Of everything that is left to chance.
        faults: What goes wrong.
        rules: Others than core's own, to see whether a planted bug is found.
        log: Another log on the disk, for the same.
        kept: How the state is kept between starts; none: every start reads the whole log.
        calls: Whether people beyond the kitchen are called.
    """

    def __init__(
        self, kitchen: Kitchen, seed: int, faults: list[Fault], *,
        rules: Rules | None = None, log: type[DiskLog] = DiskLog, judge: type[Judge] = Judge,
        kept: type[DiskSnapshots] | None = DiskSnapshots, calls: bool = True,
    ) -> None:  # fmt: skip
        self._chance = random.Random(f"house {seed}")
        self._trace = hashlib.sha256()
        self.world = World(kitchen.planning_start)
        self.judge = judge(gateway=None)  # type: ignore[arg-type]  # it is told, and asks nobody
        told = Told(self._committed, self._started)
        kitchen = with_calls(kitchen, seed) if calls else kitchen
        self.network = Network(random.Random(f"network {seed}"))
        network = self.network if calls else None
        self.machine = Machine(self.world, kitchen, self._draw(), told, rules or core_rules(), log, network, kept)
        self.broker = Broker(self.world, kitchen, self._draw(), self._takes)
        self.door = Door(self.world, self._draw(), lambda: self.machine.engine, self._answered)
        self.physics = Physics(kitchen, self.world.clock.true(), seed)
        self.thermometers = Thermometers(kitchen, self.physics)
        self.crew = Crew(self.door, kitchen, seed=seed, measure_c=self.physics.core_c)  # type: ignore[arg-type]
        self.happenings = Happenings(self.world, self.machine, self.broker, self.door, self.crew, self._draw())
        self._faults = faults
        self._steps = 0

    def _draw(self) -> random.Random:
        return random.Random(self._chance.random())

    def live(self, span_s: float) -> Lived:
        """Live so long with the faults and a while without, judged after every step.

        Raises:
            Broken: an invariant does not hold.
        """
        with self.machine.ids():
            try:
                self._live(span_s)
            finally:
                self.machine.drop()
        return Lived(self._trace.hexdigest(), self._counted())

    def _live(self, span_s: float) -> None:
        self.machine.start()
        self.happenings.expect(self._faults)
        while self.world.now_s < span_s:
            self._step(span_s)
        self.happenings.end_all()
        calm_s = self.world.now_s + _CALM_S
        while self.world.now_s < calm_s:
            self._step(calm_s)
        self.world.pass_to(self.world.now_s + 60.0)
        self._await_calls()
        self._at_the_end()

    def _await_calls(self) -> None:
        """What became of those being made is known within the seconds that a network takes."""
        made = {call.seq for call in self.judge.replayed.calls.on_their_way()}
        self.world.pass_to(self.world.now_s + (LONGEST_CALL_S if made else 0.0))
        unknown = sorted(made & {call.seq for call in self.judge.replayed.calls.on_their_way()})
        hold(not unknown, f"nobody knows what became of the calls {unknown}")

    def _step(self, until_s: float) -> None:
        now = self.world.clock.now()
        self._note(f"step {self.world.now_s:.6f}")
        wake = now + _STEP
        if self.machine.starts and self.door.has_seen():
            try:
                wake = self.crew.look(now)
            except TimeoutError:
                wake = now + timedelta(seconds=30)
        left_s = (wake - self.world.clock.now()).total_seconds()
        self.world.pass_to(min(self.world.now_s + min(max(left_s, 5.0), _STEP.total_seconds()), until_s))
        self.broker.publish(self.thermometers.measure(self.world.clock.true(), self._scene))
        self.world.pass_to(self.world.now_s + 0.5)
        self._steps += 1
        self._judge()

    def _scene(self) -> Scene:
        return scene_of(self.judge.replayed)

    def _judge(self) -> None:
        engine = self.machine.engine
        if engine is None or self.world.loop is None:
            return
        hold(not self.world.loop.complaints, f"nobody handled: {self.world.loop.complaints}")
        hold(engine.working, f"a part of the engine ended: {engine.picture.trouble}")
        self.judge.same(engine.picture.state)
        self.judge.sent(self.network.took)
        calm_s = self.world.now_s - self.happenings.calm_since_s()
        if calm_s > _SETTLES_S:
            self._settled(engine)
        since = self.world.clock.now() - timedelta(seconds=calm_s)
        self.judge.windows(self.world.clock.now(), since)

    def _settled(self, engine: Engine) -> None:
        """Nothing has been wrong for a while: the engine runs, shows what is on disk, and has told what is so."""
        for _ in range(10):
            if engine is not self.machine.engine or self.world.now_s - self.happenings.calm_since_s() < _SETTLES_S:
                return  # something else went wrong meanwhile
            picture = engine.picture
            if picture.linked and picture.state.seq == self.judge.replayed.seq and not self._astray(engine):
                self._called(engine)
                return
            self.world.pass_to(self.world.now_s + _SETTLES_S / 9)
        hold(engine.picture.linked, f"the engine stopped: {engine.picture.trouble}")
        hold(engine.picture.state.seq == self.judge.replayed.seq, "what is on disk is not shown")
        hold(False, f"at {self.world.clock.now()}: {self._astray(engine)}")

    def _called(self, engine: Engine) -> None:
        """Nobody waits for a call that was due a while ago."""
        late = due_calls(engine.picture.state, self.world.clock.now() - _CALLED_WITHIN)
        hold(not late, f"a call to {late[0].to if late else ''} is due and not made")
        hold(self.machine.calling is None or not self.machine.calling.done(), "nobody calls any more")

    def _astray(self, engine: Engine) -> str:
        picture = engine.picture
        so = set(conditions(picture.state, picture.facts, self.world.clock.now(), advise=False))
        standing = {k for k, a in picture.state.alarms.items() if a.standing}
        told, not_told = sorted(standing - so), sorted(so - standing)
        return f"on record only: {told}, not on record: {not_told}" if told or not_told else ""

    def _at_the_end(self) -> None:
        hold(self.door.waiting == 0, f"{self.door.waiting} taps still wait")
        kept = {(r.probe, r.measured_at, r.seq) for r in self.machine.disk.readings.values()}
        missing = self.broker.published - kept - self.broker.rejected
        hold(not missing, f"{len(missing)} readings were lost, such as {sorted(missing)[:1]}")
        hold(not self.broker.rejected, f"{len(self.broker.rejected)} readings were turned away")
        hold(self.broker.waiting == 0, f"{self.broker.waiting} messages still wait")
        engine = self.machine.engine
        hold(engine is not None, "the engine is not there")
        assert engine is not None
        state = engine.picture.state
        self.machine.stop()
        hold(not self.machine.complaints, f"nobody handled: {self.machine.complaints}")
        read = list(DiskLog(self.machine.disk, self._committed).read())
        self.judge.found_after_restart(read, state)
        closes(state, read)

    def _takes(self) -> Take | None:
        return self.machine.engine.on_readings if self.machine.engine is not None else None

    def _committed(self, records: list[Recorded]) -> None:
        for record in records:
            self._note(record.model_dump_json())
        self.judge.committed(records)

    def _started(self, kept: list[Recorded], state: object) -> None:
        self._note(f"start {self.world.now_s:.6f}")
        self.judge.found_after_restart(kept, state)  # type: ignore[arg-type]

    def _answered(self, command: Command, outcome: Outcome) -> None:
        self._note(f"answer {command.command_id} {outcome}")
        self.judge.answered(command, outcome)

    def _note(self, what: str) -> None:
        self._trace.update(what.encode())

    def _counted(self) -> Counter[str]:
        return Counter(
            {
                "steps": self._steps,
                "records": self.judge.replayed.seq,
                "commits": self.machine.disk.commits,
                "power cuts": self.machine.cuts,
                "torn writes": self.machine.disk.torn,
                "refused by the disk": self.machine.disk.refused,
                "readings": len(self.broker.published),
                "readings rejected": len(self.broker.rejected),
                "readings that came again": self.broker.repeats,
                "acknowledged": len(self.judge.acknowledged),
                "plans asked for": self.machine.planner.asked,
                "windows broken": len(self.judge.broken),
                "alarms": len(self.judge.alarms),
                "started from the kept state": self.machine.disk.started_from_kept,
                "calls": len(self.judge.calls),
                "messages taken": len(self.network.took),
                **self.door.counted,
            }
        )
