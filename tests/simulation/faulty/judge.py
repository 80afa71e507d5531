"""What must hold after every step, whatever goes wrong; kept apart from the code that makes it hold."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms import alarm_id
from orchestrator.core.call_events import CallDelivered, CallGaveUp, CallMade
from orchestrator.core.commands import Command, FinishTask, FinishTray, StartTask
from orchestrator.core.events import AlarmEscalated, AlarmRaised, Recorded
from orchestrator.core.ids import AlarmId, CommandId, LotCode
from orchestrator.core.models import Plan, PlannedTask, TaskKind, WindowClass
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.state import LotStatus, State, TaskStatus
from orchestrator.gateway.door import Accepted, Outcome
from tests.simulation.invariants import Watch

IN_TIME: Final = timedelta(minutes=1)
"""So soon after a window is broken it must have been told, while the engine runs and can write."""
_HANDS: Final = timedelta(minutes=2)
"""What hands need between two taps; before that nothing counts as broken."""
_ALWAYS_ON_RECORD: Final = (StartTask, FinishTask, FinishTray)
_GONE: Final = (LotStatus.DISCARDED, LotStatus.REWORK)


class Broken(AssertionError):
    """An invariant does not hold."""


def hold(so: bool, what: str) -> None:
    """Raises: Broken."""
    if not so:
        raise Broken(what)


@dataclass(slots=True)
class Judge(Watch):
    """Reads every commit as it becomes durable, every answer that a screen got, and every state that is shown."""

    acknowledged: dict[CommandId, int] = field(default_factory=dict)
    last_of: dict[CommandId, int] = field(default_factory=dict)
    """Seq of the last record of each command."""
    told: dict[AlarmId, datetime] = field(default_factory=dict)
    """Since when each alarm was first told as a miss; by the clock that was shown."""
    calls: dict[int, CallMade] = field(default_factory=dict)
    """Calls on record, by number."""
    ended: dict[int, int] = field(default_factory=dict)
    """In which run of the service each call's outcome went on record."""
    made_in: dict[int, int] = field(default_factory=dict)
    """In which run each was made."""
    taken: Counter[int] = field(default_factory=Counter)
    """Messages that the network took, by call."""
    runs: int = 0
    broken: dict[str, WindowClass] = field(default_factory=dict)
    """Windows broken in truth, and seen as such."""

    def committed(self, records: Sequence[Recorded]) -> None:
        """After the sync of each commit."""
        for recorded in records:
            self._take(recorded)
            self._whole(recorded)
            self._told(recorded)
            self._called(recorded)
            self._one_on_each_machine()

    def _in_order(self, recorded: Recorded) -> None:
        """The clock may have been set back: what was recorded says so, and nothing is lost by it."""

    def _at_work(self, recorded: Recorded) -> None:
        """People are sent away and clocks are set here; `test_three_days` looks at shifts."""

    def _whole(self, recorded: Recorded) -> None:
        """A command's records follow each other: carried out once, and whole."""
        last = self.last_of.get(recorded.command_id)
        hold(last in (None, recorded.seq - 1), f"{recorded.command_id} was carried out twice: {last}, {recorded.seq}")
        self.last_of[recorded.command_id] = recorded.seq

    def _told(self, recorded: Recorded) -> None:
        event = recorded.event
        if isinstance(event, AlarmRaised | AlarmEscalated) and event.facts.missed:
            self.told.setdefault(event.alarm, recorded.at)

    def _called(self, recorded: Recorded) -> None:
        """A call is on record once before anything of it is sent, and ends once."""
        event = recorded.event
        if isinstance(event, CallMade):
            pairs = {(event.to, about.alarm) for about in event.about}
            hold(len(pairs) == len(event.about), f"call {recorded.seq} tells {event.to} the same twice")
            self.calls[recorded.seq], self.made_in[recorded.seq] = event, self.runs
        elif isinstance(event, CallDelivered | CallGaveUp):
            hold(event.call in self.calls, f"call {event.call} ended and was never made")
            hold(event.call not in self.ended, f"call {event.call} ended twice")
            self.ended[event.call] = self.runs

    def sent(self, took: Sequence[int]) -> None:
        """What the network took since it was last looked at: a call on record, once in each run that did not know it
        delivered (a power cut between message and record is why it may come again)."""
        for call in took[self.taken.total() :]:
            hold(call in self.calls, f"call {call} was sent and is not on record")
            self.taken[call] += 1
            most = 1 + self.ended.get(call, self.runs) - self.made_in[call]
            hold(self.taken[call] <= most, f"call {call} was sent {self.taken[call]} times")

    def _one_on_each_machine(self) -> None:
        """Counted from the records of all tasks, whatever the plan says by now."""
        state, found = self.replayed, dict[str, str]()
        if state.kitchen is None:
            return
        alone = {e.id for e in state.kitchen.equipment if not e.shared}
        for task, record in state.tasks.items():
            if record.status is not TaskStatus.IN_HAND or record.equipment not in alone or self._gone(task):
                continue
            other = found.setdefault(record.equipment, task)
            hold(other == task, f"{record.equipment} has {other} and {task} at once")

    def _gone(self, task: str) -> bool:
        lot = self.replayed.lots.get(LotCode(task.partition(".")[0]))
        return lot is not None and lot.status in _GONE

    def answered(self, command: Command, outcome: Outcome) -> None:
        """A screen got an answer: it is on record, now and for ever, and the same each time."""
        if not isinstance(outcome, Accepted):
            return
        name = command.command_id
        before = self.acknowledged.setdefault(name, outcome.seq)
        if name in self.last_of:
            hold(before == outcome.seq, f"{name} was acknowledged as {before} and as {outcome.seq}")
        hold(outcome.seq <= self.replayed.seq, f"{name} was acknowledged before it was on disk")
        if isinstance(command, _ALWAYS_ON_RECORD):
            hold(self.last_of.get(name) == outcome.seq, f"{name} was acknowledged and is not on record")

    def found_after_restart(self, kept: Sequence[Recorded], state: State) -> None:
        """What the disk gives back begins with all that was durable; the rest was written and never acknowledged."""
        self.runs += 1
        known = len(self.log)
        hold(list(kept[:known]) == self.log, "what was durable is not there after a restart")
        self.committed(kept[known:])
        self.same(state)

    def same(self, state: State) -> None:
        """Replay equals live."""
        if state.seq == self.replayed.seq and state != self.replayed:
            differ = [name for name in State.__slots__ if getattr(state, name) != getattr(self.replayed, name)]
            raise Broken(f"replay differs from the live state in {', '.join(differ)}")
        hold(state.seq <= self.replayed.seq, "something is shown that is not on disk")
        if state.seq == self.replayed.seq:
            self.replayed = state  # proven the same; looked at as one from here on, which is what makes it cheap

    def windows(self, now: datetime, since: datetime) -> None:
        """Each window that is broken in truth has been told, a minute later at most.

        Args:
            now: By the clock of the machine.
            since: From when on the engine has run, could write and had its clock left alone.
        """
        plan = self.replayed.plan
        if plan is None:
            return
        tasks = {task.id: task for task in plan.tasks}
        for task in plan.tasks:
            if task.kind is not TaskKind.WORK or self._gone(task.id):
                continue
            for closes, cls, before in self._closings(task, tasks):
                if self._broken_at(task, closes, now) and now - max(closes + _HANDS, since) > IN_TIME:
                    self._must_be_told(plan, task, before, closes, cls)

    def _closings(
        self, task: PlannedTask, tasks: dict[str, PlannedTask]
    ) -> list[tuple[datetime, WindowClass, PlannedTask]]:
        """When a task must have begun, by what has happened in fact: written anew from the meaning of links."""
        found = []
        for link in task.links:
            before = tasks.get(link.after)
            if before is None:
                continue
            record = self.replayed.record(before.id)
            if before.kind is TaskKind.STAY and before.stay is not None and link.most == 0:
                begun, most, cls = record.started_at, before.stay.most, before.stay.window
            else:
                begun, most, cls = record.finished_at, link.most, link.window
            if begun is not None and most is not None and cls is not WindowClass.PREFERENCE:
                found.append((begun + timedelta(minutes=most), cls, before))
        return found

    def _broken_at(self, task: PlannedTask, closes: datetime, now: datetime) -> bool:
        record = self.replayed.record(task.id)
        if record.status is TaskStatus.WAITING:
            return now > closes + _HANDS
        return record.status is TaskStatus.IN_HAND and (record.started_at or closes) > closes + _HANDS

    def _must_be_told(
        self, plan: Plan, task: PlannedTask, before: PlannedTask, closes: datetime, cls: WindowClass
    ) -> None:
        self.broken[f"{task.id} {closes:%d %H:%M}"] = cls
        lots = (self.replayed.lots.get(lot) for lot in (task.lot, before.lot) if lot is not None)
        if any(lot is not None and lot.since >= closes for lot in lots):
            return  # somebody has decided about the food since
        alarm = alarm_id(AlarmKind.WINDOW_CLOSING, task.id)
        hold(alarm in self.told, f"the {cls} window of {task.id} closed {closes} and nobody was told")
