"""Calls through the door of `decide`: made as alarms are raised and time passes, tested, recorded, taken over."""

from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.commands import COMMANDS, Command, Tick
from orchestrator.core.decide import Decision, decide
from orchestrator.core.due import next_due
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import AlarmRaised, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId, EquipmentId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.calls import CallStatus
from orchestrator.core.state import Facts, State
from tests.fakes.call_house import call_plan, callee, kitchen_with
from tests.fakes.kitchens import at

FREEZER = ProbeId("freezer-air")
NOW = at("Thu 02:00")
PLAN = call_plan(callee("manager"), callee("Owner"))


def warm(minutes: int) -> Facts:
    """The freezer is too warm, for so long at 02:00."""
    since = NOW - timedelta(minutes=minutes)
    fact = ProbeFact(probe=FREEZER, equipment=EquipmentId("freezer"), celsius=-5.0, measured_at=NOW)
    return {FREEZER: fact.model_copy(update={"outside_since": since, "worst_c": -5.0})}


def state(facts: Facts | None = None, plan: Any = PLAN) -> State:
    return State(kitchen=kitchen_with(plan), facts=facts or {})


def command(kind: str, person: str | None = "manager", **fields: Any) -> Command:
    return COMMANDS.validate_python({"kind": kind, "command_id": f"{kind}-1", "person": person, **fields})


def carried_out(before: State, what: Command, facts: Facts | None = None) -> tuple[State, Decision]:
    decision = decide(before, what, NOW, facts or {})
    assert isinstance(decision, Decision)
    after = before
    for event in decision.events:
        after = evolve(after, Recorded(seq=after.seq + 1, at=NOW, command_id=what.command_id, event=event))
    return after, decision


def refused(before: State, what: Command) -> Refusal:
    decision = decide(before, what, NOW, {})
    assert isinstance(decision, Refusal)
    return decision


def test_alarm_raised_at_night_calls_in_the_same_breath() -> None:
    facts = warm(30)
    after, decision = carried_out(state(facts), Tick(command_id=CommandId("t")), facts)
    kinds = [event.kind for event in decision.events]
    assert kinds == ["alarm_raised", "call_made"]
    raised = decision.events[0]
    assert isinstance(raised, AlarmRaised)
    (call,) = after.calls.calls
    assert (call.to, call.alarms, call.titles, call.status) == ("manager", (raised.alarm,), ("Freezer",), "made")


def test_next_turn_is_among_what_is_due_next() -> None:
    facts = warm(30)
    after, _ = carried_out(state(facts), Tick(command_id=CommandId("t")), facts)
    assert next_due(after, NOW) == NOW + timedelta(minutes=10)
    assert next_due(State(kitchen=after.kitchen, facts=facts, alarms=after.alarms, calls=after.calls), NOW) == (
        NOW + timedelta(minutes=10)
    )


def test_manager_sends_a_test_call_and_its_result_is_recorded() -> None:
    made, _ = carried_out(state(), command("send_test_call", to="role:Owner"))
    (call,) = made.calls.on_their_way()
    assert (call.why, call.to, call.person) == ("test", "role:Owner", "manager")
    fault = {"channel": "Mail", "fault": "refused", "code": 401}
    again, _ = carried_out(made, command("record_call", None, call=call.seq, outcome="failed", faults=[fault]))
    ended, _ = carried_out(
        again, command("record_call", None, command_id="r2", call=call.seq, outcome="delivered", reached=["Phone"])
    )
    (after,) = ended.calls.calls
    assert (after.status, after.attempts, after.reached) == (CallStatus.DELIVERED, 1, ("Phone",))
    phone, mail = (ended.calls.channels[after.to, name] for name in ("Phone", "Mail"))
    assert (phone.reached_at, phone.fault) == (NOW, None)
    assert (mail.reached_at, mail.failed_at, mail.fault, mail.code) == (None, NOW, "refused", 401)


@pytest.mark.parametrize(
    ("person", "to", "code"),
    [
        ("early-cook", "manager", RefusalCode.NOT_ALLOWED),
        (None, "manager", RefusalCode.NOT_ALLOWED),
        ("manager", "late-cook", RefusalCode.UNKNOWN),
    ],
)
def test_test_call_is_refused_with_a_remedy(person: str | None, to: str, code: RefusalCode) -> None:
    refusal = refused(state(), command("send_test_call", person, to=to))
    assert refusal.code is code
    assert refusal.remedy


def test_second_test_call_waits_for_the_first() -> None:
    made, _ = carried_out(state(), command("send_test_call", to="manager"))
    refusal = refused(made, command("send_test_call", to="manager", command_id="s2"))
    assert (refusal.code, refusal.remedy) == (RefusalCode.WRONG_STATE, "wait for its result")


def test_outcome_of_a_call_is_recorded_once() -> None:
    made, _ = carried_out(state(), command("send_test_call", to="manager"))
    ended, _ = carried_out(made, command("record_call", None, call=1, outcome="gave_up"))
    assert refused(ended, command("record_call", None, command_id="r2", call=1, outcome="delivered")).code is (
        RefusalCode.WRONG_STATE
    )
    assert refused(ended, command("record_call", None, command_id="r3", call=7, outcome="failed")).code is (
        RefusalCode.WRONG_STATE
    )


def test_call_plan_is_taken_over_once_and_calls_for_what_stands() -> None:
    facts = warm(30)
    nobody, _ = carried_out(state(facts, call_plan()), Tick(command_id=CommandId("t")), facts)
    assert nobody.calls.calls == ()
    taken, decision = carried_out(nobody, command("take_call_plan", None, plan=PLAN), facts)
    assert [event.kind for event in decision.events] == ["call_plan_taken", "call_made"]
    assert taken.kitchen is not None
    assert taken.kitchen.calls == PLAN
    _, again = carried_out(taken, command("take_call_plan", None, command_id="t2", plan=PLAN), facts)
    assert again.events == ()


def test_names_without_address_are_recorded_when_they_change() -> None:
    checked, _ = carried_out(state(), command("record_channels", None, unset=["CALL_B", "CALL_A", "CALL_B"]))
    assert checked.calls.unset == {"CALL_A", "CALL_B"}
    _, again = carried_out(checked, command("record_channels", None, command_id="r2", unset=["CALL_A", "CALL_B"]))
    assert again.events == ()
