"""Carries the faults out, ends them, and knows since when nothing has been wrong."""

import random
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import timedelta

from orchestrator.core.commands import StopMachine
from orchestrator.core.ids import CommandId
from orchestrator.simulator.crew import Crew
from tests.simulation.faulty.broker import Broker
from tests.simulation.faulty.disk import Cut, Trouble
from tests.simulation.faulty.door import Door
from tests.simulation.faulty.faults import Fault
from tests.simulation.faulty.machine import Machine
from tests.simulation.faulty.world import World

_TROUBLES: dict[str, Trouble] = {"disk full": "full", "disk locked": "locked", "disk read-only": "read-only"}


class Happenings:
    """Faults of one kind may overlap: each is over when the last one is."""

    def __init__(
        self, world: World, machine: Machine, broker: Broker, door: Door, crew: Crew, chance: random.Random
    ) -> None:
        self._world = world
        self._machine = machine
        self._broker = broker
        self._door = door
        self._crew = crew
        self._chance = chance
        self._standing: Counter[str] = Counter()
        self._calm_since_s = 0.0
        self._over = False
        self.happened: Counter[str] = Counter()

    def expect(self, faults: Iterable[Fault]) -> None:
        """Let them come."""
        for fault in faults:
            self._world.after(fault.at_s - self._world.now_s, self._coming(fault))

    def calm_since_s(self) -> float:
        """Since when the engine has run undisturbed on a disk that takes what it writes; else the present."""
        if any(self._standing[kind] for kind in (*_TROUBLES, "slow disk")):
            return self._world.now_s
        return max(self._calm_since_s, self._machine.up_since_s)

    def _coming(self, fault: Fault) -> Callable[[], None]:
        return lambda: self._begin(fault)

    def _begin(self, fault: Fault) -> None:
        if self._over:
            return
        self.happened[fault.kind] += 1
        match fault.kind:
            case "power cut":
                self._machine.down_s = fault.lasts_s
                self._machine.cut()
            case "cut before sync" | "cut after sync":
                self._machine.down_s = fault.lasts_s
                self._cut_in_commit("before sync" if fault.kind == "cut before sync" else "after sync")
            case "clock step":
                self._step(fault.size_s)
                self._world.after(fault.lasts_s, lambda: self._step(-fault.size_s))
            case "machine stops":
                self._stop_a_machine(fault)
            case _:
                self._standing[fault.kind] += 1
                self._apply()
                self._world.after(fault.lasts_s, lambda: self._end(fault.kind))

    def _cut_in_commit(self, cut: Cut) -> None:
        if self._chance.random() < 0.7:
            self._machine.disk.cut = cut
        else:
            self._machine.disk.cut_readings = cut

    def _end(self, kind: str) -> None:
        if self._standing[kind]:
            self._standing[kind] -= 1
            self._calm_since_s = self._world.now_s
            self._apply()

    def _step(self, seconds: float) -> None:
        self._world.clock.step(timedelta(seconds=seconds))
        self._calm_since_s = self._world.now_s

    def _stop_a_machine(self, fault: Fault) -> None:
        """Somebody says so at a screen, and perhaps until when."""
        kitchen = self._machine.kitchen
        until = self._world.clock.now() + timedelta(seconds=fault.lasts_s) if self._chance.random() < 0.6 else None
        who = self._chance.choice(kitchen.crew).id
        name = CommandId(f"stops-{fault.at_s:.3f}")
        what = self._chance.choice(kitchen.equipment).id
        command = StopMachine(command_id=name, person=who, equipment=what, until=until, reason="it makes a noise")
        self._door.send(command)

    def _apply(self) -> None:
        standing = self._standing
        self._machine.slow = bool(standing["slow disk"])
        self._machine.disk.trouble = next((word for kind, word in _TROUBLES.items() if standing[kind]), "")
        self._machine.planner.failing = 1.0 if standing["planner fails"] else 0.0
        self._door.cut_off = bool(standing["no Wi-Fi"])
        self._broker.cut_off = bool(standing["broker cut off"])
        self._broker.down = bool(standing["broker down"])
        self._crew.on = not standing["nobody works"]

    def end_all(self) -> None:
        """From now on everything works."""
        self._over = True
        self._standing.clear()
        self._machine.disk.cut = self._machine.disk.cut_readings = ""
        self._machine.down_s = 1.0
        self._apply()
        self._world.after(1.0, self._machine.start)  # nobody waits for a power cut's end any more
        self._world.clock.step(-self._world.clock.off)
        self._calm_since_s = self._world.now_s
