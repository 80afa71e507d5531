"""Planted troubles: what goes wrong in a kitchen, on purpose, so that warnings and re-planning can be watched."""

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import StopMachine
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, ProbeId
from orchestrator.core.models import Kitchen, TaskKind
from orchestrator.core.state import State, TaskStatus
from orchestrator.gateway.door import Gateway
from orchestrator.simulator.physics import Physics, Thermometers
from orchestrator.simulator.roster import Roster

LATE_COOK: Final = "late-cook"
CHURN_STOPS: Final = "churn-stops"
PROBE_SILENT: Final = "probe-silent"
DOOR_OPEN: Final = "door-open"
TITLES: Final = {
    LATE_COOK: "A cook comes in late",
    CHURN_STOPS: "The churn stops for two hours",
    PROBE_SILENT: "A probe falls silent",
    DOOR_OPEN: "The freezer door is left open",
}
SILENCE: Final = timedelta(minutes=45)
DOOR: Final = timedelta(minutes=50)
STANDSTILL: Final = timedelta(hours=2)
BEFORE_A_RUN: Final = timedelta(minutes=25)


@dataclass(frozen=True, slots=True)
class Planted:
    """What was planted, where, from when and until when."""

    trouble: str
    thing: str
    start: datetime
    end: datetime


class Troubles:
    """Plants troubles by hand or at their hour.

    Args:
        seed: Of how late the cook is.
    """

    def __init__(
        self, gateway: Gateway, kitchen: Kitchen, roster: Roster, physics: Physics, thermometers: Thermometers,
        *, seed: int = 0,
    ) -> None:  # fmt: skip
        self._gateway = gateway
        self._kitchen = kitchen
        self._roster = roster
        self._physics = physics
        self._thermometers = thermometers
        self._rng = random.Random(f"troubles {seed}")
        self.scheduled: dict[str, datetime] = {}
        self.planted: dict[str, Planted] = {}

    def next_at(self) -> datetime | None:
        """When the next trouble is to happen."""
        return min((at for key, at in self.scheduled.items() if key not in self.planted), default=None)

    def due(self, now: datetime) -> None:
        """Plant what is scheduled for now or before; a churn stops when it is missed, whatever the plan has become."""
        for key, at in tuple(self.scheduled.items()):
            if at > now or key in self.planted:
                continue
            later = self._before_next_run(now) if key == CHURN_STOPS else None
            if later is not None:
                self.scheduled[key] = later
            else:
                self.plant(key, now)

    def _before_next_run(self, now: datetime) -> datetime | None:
        """Just before the churn runs next, if a stop now would be over by then."""
        run = next_run(self._gateway.snapshot().state, "churn", now)
        return run - BEFORE_A_RUN if run is not None and run - now > STANDSTILL else None

    def plant(self, trouble: str, now: datetime) -> Planted:
        """Let it happen now. Raises: KeyError for a trouble that there is not."""
        plants: dict[str, Callable[[datetime], Planted]] = {
            LATE_COOK: self._late_cook,
            CHURN_STOPS: self._churn_stops,
            PROBE_SILENT: self._probe_silent,
            DOOR_OPEN: self._door_open,
        }
        planted = plants[trouble](now)
        self.planted[trouble] = planted
        return planted

    def _late_cook(self, now: datetime) -> Planted:
        """Somebody who is expected with planned work: from the start of the next shift, or from now if there."""
        late = timedelta(minutes=self._rng.randint(45, 90))
        member, start = self._who_comes_next(now)
        planted = Planted(LATE_COOK, member, now, start + late)
        self._roster.away[member] = (now, planted.end)
        return planted

    def _who_comes_next(self, now: datetime) -> tuple[CrewId, datetime]:
        coming = []
        for member in self._kitchen.crew:
            start = self._roster.next_shift_start(member.id, now)
            if start is not None and not member.manager:
                coming.append((start, member.id))
        if not coming:
            there = self._roster.there(now)
            return (there[0].id if there else self._kitchen.crew[0].id), now
        start, name = min(coming)
        return name, start

    def _churn_stops(self, now: datetime) -> Planted:
        churn = _of_kind(self._kitchen, "churn")
        until = now + STANDSTILL
        there = self._roster.there(now)
        person = there[0].id if there else None
        command = StopMachine(
            command_id=CommandId(f"trouble-{CHURN_STOPS}-{now:%d%H%M%S}"),
            person=person,
            equipment=churn,
            until=until,
            reason="the dasher does not turn; the fitter has been called",
        )
        self._gateway.submit(command)
        return Planted(CHURN_STOPS, churn, now, until)

    def _probe_silent(self, now: datetime) -> Planted:
        probe = self._probe_in_use()
        self._thermometers.silent_until[probe] = now + SILENCE
        return Planted(PROBE_SILENT, probe, now, now + SILENCE)

    def _probe_in_use(self) -> ProbeId:
        """The fridge's, where lots always stay; else the first."""
        fridges = [e.id for e in self._kitchen.equipment if e.kind == "fridge"]
        probes = [p.id for p in self._kitchen.probes if p.equipment in fridges]
        return (probes or [p.id for p in self._kitchen.probes])[0]

    def _door_open(self, now: datetime) -> Planted:
        freezer = _of_kind(self._kitchen, "freezer")
        self._physics.leave_open(freezer, DOOR.total_seconds() / 60.0)
        return Planted(DOOR_OPEN, freezer, now, now + DOOR)


def _of_kind(kitchen: Kitchen, kind: str) -> EquipmentId:
    for equipment in kitchen.equipment:
        if equipment.kind == kind:
            return equipment.id
    raise KeyError(f"this kitchen has no {kind}")


def next_run(state: State, kind: str, after: datetime) -> datetime | None:
    """When a machine of that kind is planned to run next."""
    if state.plan is None:
        return None
    waiting = (
        task.start
        for task in state.plan.tasks
        if task.kind is TaskKind.WORK
        and task.equipment_kind == kind
        and task.start > after
        and state.record(task.id).status is TaskStatus.WAITING
    )
    return min(waiting, default=None)
