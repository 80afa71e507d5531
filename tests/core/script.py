"""A script of commands against the core: each is decided, recorded and evolved, as the engine does it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from typing import Any

from orchestrator.core.commands import COMMANDS, Command
from orchestrator.core.decide import Decision, decide
from orchestrator.core.errors import Refusal
from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    Event,
    PlanAdopted,
    Recorded,
)
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId, EquipmentId, ProbeId, TaskId
from orchestrator.core.lot_events import DeviationOpened, DeviationSpread, PlaceRecovered
from orchestrator.core.models import Kitchen, Plan, ProbeFact
from orchestrator.core.state import State, TaskRecord
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

ALARMS = (AlarmRaised, AlarmEscalated, AlarmAcknowledged, AlarmReturned, AlarmShelved, AlarmUnshelved)
DERIVED = (*ALARMS, DeviationOpened, DeviationSpread, PlaceRecovered)
"""What follows from the state after an act by itself."""


@dataclass
class Script:
    """The state so far, the log that led to it, and the answers given."""

    kitchen: Kitchen = field(default_factory=small_kitchen)
    state: State = field(default_factory=State)
    log: list[Recorded] = field(default_factory=list)
    facts: dict[ProbeId, ProbeFact] = field(default_factory=dict)
    now: datetime = field(default_factory=lambda: at("Wed 06:00"))
    ids: Any = field(default_factory=lambda: count(1))
    last: Decision = field(default_factory=Decision)

    def give(self, when: str | datetime, kind: str, **what: Any) -> tuple[Event, ...]:
        """Carry out a command; returns its events but for what follows by itself. Refusals fail the test."""
        outcome = self.try_(when, kind, **what)
        assert isinstance(outcome, Decision), outcome
        return tuple(event for event in outcome.events if not isinstance(event, DERIVED))

    def released(self, when: str | datetime, lot: str, reason: str) -> tuple[Event, ...]:
        """A lot with a broken safety limit: the counter hand looks at it, the manager names a code and releases it."""
        safety = (d for d in self.state.deviations.values() if d.open and d.facts.safety and lot in d.lots)
        for deviation in tuple(safety):
            look = {"deviation": deviation.id, "act": "second look", "text": "smelt and looked at", "lot": lot}
            self.give(when, "take_action", person="counter-hand", **look)
        decided = {"lot": lot, "decision": "release", "reason": reason, "by_code": "the inspector, by telephone"}
        return self.give(when, "decide_lot", person="manager", **decided)

    def refused(self, when: str | datetime, kind: str, **what: Any) -> Refusal:
        """A command that must be refused, and change nothing."""
        before = self.state
        outcome = self.try_(when, kind, **what)
        assert isinstance(outcome, Refusal), outcome
        assert self.state is before
        return outcome

    def try_(self, when: str | datetime, kind: str, **what: Any) -> Decision | Refusal:
        """Decide; record and evolve if it was not refused."""
        self.now = at(when) if isinstance(when, str) else when
        command_id = what.pop("command_id", f"c{next(self.ids)}")
        command: Command = COMMANDS.validate_python({"kind": kind, "command_id": command_id, **what})
        outcome = decide(self.state, command, self.now, self.facts)
        if isinstance(outcome, Decision):
            self.last = outcome
            self.record(command.command_id, outcome.events)
        return outcome

    def record(self, command_id: CommandId, events: Sequence[Event]) -> None:
        """Put events on the log, as a command of that id would."""
        for event in events:
            recorded = Recorded(seq=self.state.seq + 1, at=self.now, command_id=command_id, event=event)
            self.log.append(recorded)
            self.state = evolve(self.state, recorded)

    def of(self, task: str) -> TaskRecord:
        """What has happened to a task."""
        return self.state.record(TaskId(task))

    def reads(self, probe: str, equipment: str, **what: Any) -> None:
        """The latest fact of a probe, as the assessor would give it."""
        fact = ProbeFact(probe=ProbeId(probe), equipment=EquipmentId(equipment), **what)
        self.facts = {**self.facts, fact.probe: fact}


def in_a_planned_kitchen(plan: Plan | None = None, **changes: Any) -> Script:
    """The small kitchen, imported, with the plan made by hand adopted as the first one."""
    script = Script(kitchen=small_kitchen(**changes))
    script.give("Wed 06:00", "import_kitchen", kitchen=script.kitchen)
    plan = plan or small_plan(script.kitchen)
    script.record(CommandId("plan"), (PlanAdopted(plan=plan, at=script.now, person=None),))
    return script


def cook(script: Script, task: str, start: str, end: str, **finish: Any) -> None:
    """Start and finish a task of the early cook."""
    script.give(start, "start_task", task=task, person="early-cook")
    script.give(end, "finish_task", task=task, person="early-cook", **finish)


def at_target(script: Script, task: str, probe: str, equipment: str, celsius: float) -> None:
    """The probe says that the task's target is met."""
    script.reads(probe, equipment, task=task, celsius=celsius, met_at=script.now, measured_at=script.now)


def with_base_chilling(script: Script) -> Script:
    """Custard base cooked on time on Wednesday; it is in the ice bath."""
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person="early-cook")
    script.give("Wed 08:45", "start_task", task="C1.chill", person="early-cook")
    return script


def with_base_aged(script: Script) -> Script:
    """Custard base cooked and chilled on time on Wednesday; it ages in the fridge."""
    with_base_chilling(script)
    at_target(script, "C1.chill", "ice-bath-core", "ice-bath", 4)
    script.give("Wed 10:15", "finish_task", task="C1.chill", person="early-cook")
    script.reads("fridge-air", "fridge", celsius=3.2, measured_at=script.now)
    return script
