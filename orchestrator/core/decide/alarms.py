"""Alarms that are seen."""

from orchestrator.core.commands import AcknowledgeAlarm
from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import AlarmAcknowledged
from orchestrator.core.models.alarm import AlarmStatus


def acknowledge(case: Case, command: AcknowledgeAlarm) -> Decision | Refusal:
    """A named person has seen an alarm."""
    alarm = case.state.alarms.get(command.alarm)
    if alarm is None:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.alarm, status="no such alarm", remedy="an alarm that is shown"
        )
    who = named(case, command.alarm, "to have seen it")
    if isinstance(who, Refusal):
        return who
    if alarm.status is AlarmStatus.ACKNOWLEDGED:
        status = f"seen by {alarm.acknowledged_by}"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.alarm, status=status, remedy="nothing more")
    return Decision((AlarmAcknowledged(alarm=command.alarm, at=case.at, person=who),))
