"""Calls: who is on the list, a test call, and what became of a call."""

from orchestrator.core.call_events import (
    CallDelivered,
    CallFailed,
    CallGaveUp,
    CallMade,
    CallPlanTaken,
    ChannelsChecked,
)
from orchestrator.core.commands import RecordCall, RecordChannels, SendTestCall, TakeCallPlan
from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models.calls import CallStatus, CallWhy

CallCommand = SendTestCall | RecordCall | TakeCallPlan | RecordChannels


def on_calls(case: Case, command: CallCommand) -> Decision | Refusal:
    """Carry out what concerns calls; which are due is found after every command, by `calls.due_calls`."""
    match command:
        case SendTestCall():
            return _test(case, command)
        case RecordCall():
            return _record(case, command)
        case TakeCallPlan():
            if command.plan == case.kitchen.calls:
                return Decision()
            return Decision((CallPlanTaken(plan=command.plan, at=case.now),))
        case RecordChannels():
            if frozenset(command.unset) == case.state.calls.unset:
                return Decision()
            return Decision((ChannelsChecked(at=case.now, unset=tuple(sorted(set(command.unset)))),))


def _test(case: Case, command: SendTestCall) -> Decision | Refusal:
    who = named(case, command.to, "to send a test call")
    if isinstance(who, Refusal):
        return who
    if not case.known.crew[who].manager:
        status, remedy = f"{case.known.crew[who].name} is no manager", "a manager sends a test call"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.to, status=status, remedy=remedy)
    people = {one.id: one for one in case.kitchen.calls.people}
    if command.to not in people:
        remedy = f"one of {', '.join(people)}" if people else "write people into notify.yaml, and start again"
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.to, status="not on the list of who is called", remedy=remedy
        )
    if any(one.to == command.to and one.why is CallWhy.TEST for one in case.state.calls.on_their_way()):
        status = "a test call is on its way"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.to, status=status, remedy="wait for its result")
    return Decision((CallMade(at=case.now, to=command.to, person=who),))


def _record(case: Case, command: RecordCall) -> Decision | Refusal:
    call = case.state.calls.call(command.call)
    if call is None or call.status is not CallStatus.MADE:
        status = "no such call" if call is None else "its outcome is on record"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=f"call {command.call}", status=status, remedy="nothing more")
    at, seq, faults = case.now, command.call, command.faults
    match command.outcome:
        case "delivered":
            return Decision((CallDelivered(call=seq, at=at, reached=command.reached, faults=faults),))
        case "failed":
            return Decision((CallFailed(call=seq, at=at, faults=faults),))
        case "gave_up":
            return Decision((CallGaveUp(call=seq, at=at, faults=faults),))
