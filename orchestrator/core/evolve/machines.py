"""Machines that stop, are taken to be back later, and come back."""

from dataclasses import replace
from datetime import datetime

from orchestrator.core.events import MachineReturned, MachineStopped, StopAssumed
from orchestrator.core.ids import AlarmId, EquipmentId
from orchestrator.core.models.alarm import Alarm, AlarmKind
from orchestrator.core.planning import UNKNOWN_STOP
from orchestrator.core.state import MachineStop, State

MachineEvent = MachineStopped | StopAssumed | MachineReturned


def apply(state: State, event: MachineEvent) -> State:
    """A machine stands, still stands, or can be used again."""
    machine = event.equipment
    match event:
        case MachineStopped():
            assumed = event.at + UNKNOWN_STOP if event.until is None else None
            stop = MachineStop(event.at, event.until, event.reason, event.person, assumed)
            return replace(state, machines={**state.machines, machine: stop})
        case StopAssumed():
            known = state.machines.get(machine)
            if known is None:
                return state
            later = replace(known, assumed=event.until)
            alarms = {**state.alarms, **_told(state, machine, event.until)}
            return replace(state, machines={**state.machines, machine: later}, alarms=alarms)
        case MachineReturned():
            return replace(state, machines={m: s for m, s in state.machines.items() if m != machine})


def _told(state: State, machine: EquipmentId, until: datetime) -> dict[AlarmId, Alarm]:
    """The alarm that stands about the machine says the new assumption."""
    key = AlarmId(f"{AlarmKind.MACHINE_STOPPED}:{machine}")
    alarm = state.alarms.get(key)
    if alarm is None:
        return {}
    facts = alarm.facts.model_copy(update={"expected_at": until, "assumed": True})
    return {key: alarm.model_copy(update={"facts": facts})}
