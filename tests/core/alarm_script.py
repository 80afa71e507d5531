"""What the tests of alarms ask of a state, and what they do to it."""

from collections.abc import Mapping
from dataclasses import replace

from orchestrator.core.alarms import alarm_events, conditions
from orchestrator.core.ids import AlarmId, CrewId, EquipmentId, LotCode, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.alarm import AlarmFacts
from orchestrator.core.state import LotRecord, LotStatus, MachineStop, State
from tests.fakes.kitchens import at
from tests.fakes.states import COOK, with_events


def all_told(state: State, now: str, *facts: ProbeFact) -> dict[str, bool]:
    found = conditions(state, {f.probe: f for f in facts}, at(now))
    return {str(alarm): f.missed for alarm, f in found.items()}


def facts_of(state: State, now: str, alarm: str, *facts: ProbeFact) -> AlarmFacts:
    return conditions(state, {f.probe: f for f in facts}, at(now))[AlarmId(alarm)]


def step(state: State, now: str, *facts: ProbeFact) -> tuple[State, list[tuple[str, str]]]:
    by_probe: Mapping[ProbeId, ProbeFact] = {f.probe: f for f in facts}
    events = alarm_events(state, by_probe, at(now))
    told = [(e.kind.removeprefix("alarm_"), str(e.alarm)) for e in events]  # type: ignore[union-attr]
    return with_events(state, events, at(now)), told


def stopped(state: State, machine: str, since: str, until: str | None) -> State:
    stop = MachineStop(since=at(since), until=at(until) if until else None, reason="belt slips", by=COOK)
    return replace(state, machines={EquipmentId(machine): stop})


def lot_is(state: State, lot: str, status: LotStatus, since: str) -> State:
    by = None if status is LotStatus.ON_HOLD else CrewId("manager")
    return replace(state, lots={LotCode(lot): LotRecord(status, at(since), "too warm", by)})
