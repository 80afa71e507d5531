"""What must hold after every step of a simulated week; kept apart from the code that makes it hold."""

import time
from dataclasses import dataclass, field
from datetime import datetime

from orchestrator.core.alarms import conditions
from orchestrator.core.commands import Command, Tick
from orchestrator.core.events import (
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    MachineReturned,
    PlanDeclined,
    Recorded,
    TaskFinished,
    TaskSkipped,
    TaskStarted,
    TrayFinished,
)
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import AlarmId, CommandId, EquipmentId, TaskId
from orchestrator.core.lot_events import LotDecided
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.state import State, TaskStatus
from orchestrator.gateway.door import Accepted, Gateway, Outcome
from orchestrator.simulator.roster import LONGEST_OVERTIME

FORESEEABLE = (AlarmKind.WINDOW_CLOSING, AlarmKind.ORDER_LATE, AlarmKind.STORE_WARM, AlarmKind.TARGET_MISSED)
"""Kinds that begin as a warning and become a miss."""


@dataclass(slots=True)
class Counted:
    """A gateway that remembers what was acknowledged through it. Implements `door.Gateway` by passing on."""

    inner: Gateway
    acknowledged: dict[CommandId, Command] = field(default_factory=dict)

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """Pass on and remember."""
        outcome = self.inner.submit(command, timeout_s)
        if isinstance(outcome, Accepted) and not isinstance(command, Tick):
            assert command.command_id not in self.acknowledged, f"{command.command_id} was used twice"
            self.acknowledged[command.command_id] = command
        return outcome

    def __getattr__(self, name: str) -> object:
        return getattr(self.inner, name)


@dataclass(slots=True)
class Watch:
    """Reads the log as it grows and checks it."""

    gateway: Gateway
    log: list[Recorded] = field(default_factory=list)
    replayed: State = field(default_factory=State)
    running: dict[EquipmentId, TaskId] = field(default_factory=dict)
    warned: dict[AlarmId, datetime] = field(default_factory=dict)
    """Alarms that stand as a warning, since when."""
    misses: dict[AlarmId, tuple[datetime | None, datetime]] = field(default_factory=dict)
    """First warning (if any) and miss of each alarm that came to one."""
    alarms: dict[AlarmId, datetime] = field(default_factory=dict)
    """First raising of every alarm."""
    steps: int = 0

    counted: Counted | None = None
    """Through which people act."""
    commands: set[CommandId] = field(default_factory=set)
    acts: set[tuple[CommandId, str, TaskId]] = field(default_factory=set)

    def __call__(self, now: datetime) -> None:
        """After a step."""
        self.steps += 1
        limit = time.monotonic() + 5.0
        while self._read() and time.monotonic() < limit:
            time.sleep(0.01)  # the engine's own timers may still be at it
        assert self.replayed == self.gateway.snapshot().state, "replay differs from the live state"
        assert self._astray(now) == "", f"at {now}: {self._astray(now)}"
        self._nothing_lost()

    def _read(self) -> bool:
        """Take what is new in the log. Returns: whether something is still under way."""
        while fresh := self.gateway.history(after=self.replayed.seq, limit=500):
            for recorded in fresh:
                self._take(recorded)
        picture = self.gateway.snapshot()
        assert picture.linked, "the engine stopped"
        return self.replayed != picture.state or bool(self._astray(picture.now))

    def _take(self, recorded: Recorded) -> None:
        assert recorded.seq == self.replayed.seq + 1, "the log has a gap"
        self._in_order(recorded)
        self._once(self.replayed, recorded)
        self.replayed = evolve(self.replayed, recorded)
        self.log.append(recorded)
        self._acts(recorded)
        self._at_work(recorded)
        self._machines(recorded)
        self._warnings(recorded)

    def _in_order(self, recorded: Recorded) -> None:
        assert not self.log or recorded.at >= self.log[-1].at, "time ran backwards"

    def _machines(self, recorded: Recorded) -> None:
        """A machine that takes one thing at a time never has two."""
        event = recorded.event
        kitchen = self.replayed.kitchen
        assert kitchen is not None
        unary = {e.id for e in kitchen.equipment if not e.shared}
        if isinstance(event, TaskStarted) and event.equipment in unary:
            taken = self.running.get(event.equipment)
            assert taken is None, f"{event.equipment} has {taken} and {event.task} at {event.at}"
            self.running[event.equipment] = event.task
        if isinstance(event, TaskFinished | TaskSkipped):
            self.running = {machine: task for machine, task in self.running.items() if task != event.task}
        if isinstance(event, LotDecided) and event.decision == "discard":
            # Food that is thrown away while it is worked on leaves its machine.
            gone = f"{event.lot}."
            self.running = {machine: task for machine, task in self.running.items() if not task.startswith(gone)}

    def _warnings(self, recorded: Recorded) -> None:
        event = recorded.event
        if isinstance(event, AlarmRaised | AlarmEscalated):
            self.alarms.setdefault(event.alarm, event.at)
            if not event.facts.missed:
                self.warned.setdefault(event.alarm, event.at)
            elif event.alarm not in self.misses:
                self.misses[event.alarm] = (self.warned.get(event.alarm), event.at)
        if isinstance(event, AlarmReturned):
            self.warned.pop(event.alarm, None)

    def _astray(self, now: datetime) -> str:
        """Each due instant was handled: what is so now is on record now. Returns: what is not."""
        picture = self.gateway.snapshot()
        so = set(conditions(picture.state, picture.facts, now))
        standing = {k for k, a in picture.state.alarms.items() if a.standing}
        return "" if standing == so else f"on record only: {standing - so}, not on record: {so - standing}"

    def of(self, kind: AlarmKind) -> dict[AlarmId, datetime]:
        """Alarms of a kind, and when each was first raised."""
        return {alarm: at for alarm, at in self.alarms.items() if alarm.startswith(f"{kind}:")}

    def unwarned_misses(self) -> dict[AlarmId, datetime]:
        """Misses that nobody was told of before."""
        kinds = tuple(f"{kind}:" for kind in FORESEEABLE)
        return {
            alarm: missed
            for alarm, (warned, missed) in self.misses.items()
            if alarm.startswith(kinds) and (warned is None or warned >= missed)
        }

    def _acts(self, recorded: Recorded) -> None:
        """Nothing is done twice."""
        event = recorded.event
        self.commands.add(recorded.command_id)
        if isinstance(event, TaskStarted | TaskFinished | TrayFinished):
            act = (recorded.command_id, event.kind, event.task)
            assert act not in self.acts, f"{act} is on record twice"
            self.acts.add(act)

    def _nothing_lost(self) -> None:
        """What was acknowledged is on record."""
        if self.counted is not None:
            lost = self.counted.acknowledged.keys() - self.commands
            assert lost == set(), f"acknowledged but not on record: {lost}"

    def _once(self, before: State, recorded: Recorded) -> None:
        """What is due happens once: nothing is raised that stands, over that is over, back that is there."""
        event = recorded.event
        if isinstance(event, AlarmRaised | AlarmReturned):
            alarm = before.alarms.get(event.alarm)
            stands = alarm is not None and alarm.standing
            assert stands is isinstance(event, AlarmReturned), f"{event.kind} {event.alarm} twice at {recorded.at}"
        if isinstance(event, MachineReturned):
            assert event.equipment in before.machines, f"{event.equipment} came back twice"
        if isinstance(event, PlanDeclined):
            proposal = before.proposal
            assert proposal is not None, "a plan was declined that did not wait"
            assert proposal.seq == event.proposal
            assert event.person is not None or recorded.at >= proposal.decide_by, "a proposal lapsed too early"

    def _at_work(self, recorded: Recorded) -> None:
        """Nobody does attended work outside their shift, but for a little overtime to end what is in hand."""
        event, kitchen = recorded.event, self.replayed.kitchen
        if kitchen is None or not isinstance(event, TaskStarted | TaskFinished) or event.person is None:
            return
        stays = LONGEST_OVERTIME
        shifts = [shift for member in kitchen.crew if member.id == event.person for shift in member.shifts]
        there = any(shift.start <= event.at <= shift.end + stays for shift in shifts)
        assert there, f"{event.person} is not there: {event.kind} {event.task} at {event.at}"

    def done(self, task: TaskId) -> bool:
        """Whether a task has ended."""
        return self.replayed.record(task).status is TaskStatus.DONE
