"""Machines that stop and come back."""

from typing import Final

from orchestrator.core.commands import MachineBack, StopMachine
from orchestrator.core.decide.case import Case, Decision, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, MachineReturned, MachineStopped
from orchestrator.core.ids import EquipmentId
from orchestrator.core.lot_commands import PowerCut
from orchestrator.core.models import Equipment


def stop(case: Case, command: StopMachine) -> Decision | Refusal:
    """A machine cannot be used; saying it again changes until when."""
    machine = _machine(case, command.equipment)
    if isinstance(machine, Refusal):
        return machine
    if command.until is not None and command.until <= case.now:
        return Refusal(
            code=RefusalCode.BAD_VALUE,
            thing=machine.id,
            status=f"until {case.clock(command.until)} has passed",
            remedy="a later instant, or none",
        )
    event = MachineStopped(
        equipment=machine.id, at=case.at, until=command.until, reason=command.reason, person=case.person
    )
    return with_replan(case, (event,), f"{machine.id} stopped")


def back(case: Case, command: MachineBack) -> Decision | Refusal:
    """A machine can be used again."""
    machine = _machine(case, command.equipment)
    if isinstance(machine, Refusal):
        return machine
    if machine.id not in case.state.machines:
        return Refusal(
            code=RefusalCode.WRONG_STATE, thing=machine.id, status="not stopped", remedy="nothing: it can be used"
        )
    event = MachineReturned(equipment=machine.id, at=case.at, person=case.person)
    return with_replan(case, (event,), f"{machine.id} is back")


POWER_CUT: Final = "power cut"
"""Reason of the stops that a power cut makes; its end takes back those only."""


def power_cut(case: Case, command: PowerCut) -> Decision | Refusal:
    """Every store that works is stopped, or every store that a power cut stopped is back."""
    stores = [e.id for e in case.kitchen.equipment if e.store and e.holds is not None]
    stops = case.state.machines
    events: tuple[Event, ...]
    if command.over:
        back = [e for e in stores if e in stops and stops[e].reason == POWER_CUT]
        events = tuple(MachineReturned(equipment=e, at=case.at, person=case.person) for e in back)
        status, remedy, why = "no power cut is on record", "nothing: the stores work", "the power is back"
    else:
        works = [e for e in stores if e not in stops]
        stopped = {"at": case.at, "until": None, "reason": POWER_CUT, "person": case.person}
        events = tuple(MachineStopped.model_validate({"equipment": e, **stopped}) for e in works)
        status, remedy, why = "every store is stopped already", "say when the power is back", "a power cut"
    if not events:
        return Refusal(code=RefusalCode.WRONG_STATE, thing="power", status=status, remedy=remedy)
    return with_replan(case, events, why)


def _machine(case: Case, equipment: EquipmentId) -> Equipment | Refusal:
    machine = case.known.equipment.get(equipment)
    if machine is None:
        remedy = f"one of {', '.join(case.known.equipment)}"
        return Refusal(code=RefusalCode.UNKNOWN, thing=equipment, status="no such machine", remedy=remedy)
    return machine
