"""Machines that stop and come back."""

from orchestrator.core.commands import MachineBack, StopMachine
from orchestrator.core.decide.case import Case, Decision, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import MachineReturned, MachineStopped
from orchestrator.core.ids import EquipmentId
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


def _machine(case: Case, equipment: EquipmentId) -> Equipment | Refusal:
    machine = case.known.equipment.get(equipment)
    if machine is None:
        remedy = f"one of {', '.join(case.known.equipment)}"
        return Refusal(code=RefusalCode.UNKNOWN, thing=equipment, status="no such machine", remedy=remedy)
    return machine
