"""Alarms that are seen, put on the shelf, and taken off it."""

from datetime import timedelta

from orchestrator.core.alarm_lifecycle import AlarmChange, after, state_of
from orchestrator.core.commands import AcknowledgeAlarm, ShelveAlarm, UnshelveAlarm
from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import AlarmAcknowledged, AlarmShelved, AlarmUnshelved
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.shelving import latest_end, why_not


def acknowledge(case: Case, command: AcknowledgeAlarm) -> Decision | Refusal:
    """A named person has seen an alarm."""
    alarm = _known(case, command.alarm)
    if isinstance(alarm, Refusal):
        return alarm
    who = named(case, command.alarm, "to have seen it")
    if isinstance(who, Refusal):
        return who
    if after(state_of(alarm), AlarmChange.ACKNOWLEDGE) is None:
        return _seen_or_quiet(case, alarm)
    return Decision((AlarmAcknowledged(alarm=command.alarm, at=case.at, person=who),))


def shelve(case: Case, command: ShelveAlarm) -> Decision | Refusal:
    """A named person makes an alarm quiet, to an end and with a reason."""
    alarm = _known(case, command.alarm)
    if isinstance(alarm, Refusal):
        return alarm
    who = named(case, command.alarm, "to make it quiet")
    if isinstance(who, Refusal):
        return who
    if alarm.shelved:
        return _seen_or_quiet(case, alarm)
    against = why_not(alarm, case.now)
    if against is not None:
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=alarm.id, status=against[0], remedy=against[1])
    until, latest = case.at + timedelta(minutes=command.minutes), latest_end(alarm.facts, case.now)
    if not case.now < until <= latest:
        status = f"{case.clock(until)} is {'past' if until <= case.now else 'too long'}"
        remedy = f"at most until {case.clock(latest)}"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=alarm.id, status=status, remedy=remedy)
    return Decision((AlarmShelved(alarm=alarm.id, at=case.at, person=who, until=until, reason=command.reason),))


def unshelve(case: Case, command: UnshelveAlarm) -> Decision | Refusal:
    """A named person takes an alarm off the shelf: the undoing of `shelve`."""
    alarm = _known(case, command.alarm)
    if isinstance(alarm, Refusal):
        return alarm
    who = named(case, command.alarm, "to take it off the shelf")
    if isinstance(who, Refusal):
        return who
    if not alarm.shelved:
        return Refusal(code=RefusalCode.WRONG_STATE, thing=alarm.id, status="not quiet", remedy="nothing more")
    return Decision((AlarmUnshelved(alarm=alarm.id, at=case.at, person=who),))


def _known(case: Case, alarm: AlarmId) -> Alarm | Refusal:
    known = case.state.alarms.get(alarm)
    if known is not None:
        return known
    return Refusal(code=RefusalCode.UNKNOWN, thing=alarm, status="no such alarm", remedy="an alarm that is shown")


def _seen_or_quiet(case: Case, alarm: Alarm) -> Refusal:
    """Why an alarm needs no such act: somebody was quicker."""
    code, remedy = RefusalCode.WRONG_STATE, "nothing more"
    status = f"seen by {alarm.acknowledged_by}"
    if alarm.status is AlarmStatus.SHELVED and alarm.shelved_until is not None:
        status = f"quiet until {case.clock(alarm.shelved_until)} by {alarm.shelved_by}"
        remedy = "take it off the shelf first"
    return Refusal(code=code, thing=alarm.id, status=status, remedy=remedy)
