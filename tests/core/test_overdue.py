"""A delivery that is due and that nobody received, by hand: until when it is waited for, and what its work is asked."""

import pytest

from orchestrator.core.alarms import conditions
from orchestrator.core.effects import AskForPlan
from orchestrator.core.gates import judge
from orchestrator.core.ids import TaskId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind
from orchestrator.core.planning import plan_request
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at

WHO = "early-cook"
GATE = "whole milk is here"


def waiting() -> Script:
    """Milk is due on Wednesday at 07:00; the base that takes it is planned for 08:00."""
    return in_a_planned_kitchen(supplies=[{"ingredient": "whole milk", "ready": at("Wed 07:00"), "why": "delivery"}])


def alarm(script: Script, when: str) -> AlarmFacts | None:
    found = conditions(script.state, script.facts, at(when)).values()
    return next((facts for facts in found if facts.kind is AlarmKind.DELIVERY_OVERDUE), None)


def gates(script: Script, when: str) -> list[tuple[str, bool | None]]:
    assert script.state.plan is not None
    task = script.state.plan.task(TaskId("C1.cook"))
    return [(gate.says, gate.met) for gate in judge(script.state, script.facts, task, at(when)) if gate.awaits]


def expected(script: Script, when: str) -> str:
    (supply,) = plan_request(script.state, at(when)).kitchen.supplies
    return f"{supply.ready:%a %H:%M}"


def test_it_is_taken_to_come_an_hour_later_again_and_again() -> None:
    script = waiting()
    told = {when: expected(script, f"Wed {when}") for when in ("06:59", "07:00", "07:59", "08:00", "09:30")}
    assert told == {
        "06:59": "Wed 07:00",
        "07:00": "Wed 08:00",
        "07:59": "Wed 08:00",
        "08:00": "Wed 09:00",
        "09:30": "Wed 10:00",
    }


def test_once_an_hour_it_goes_on_record_and_a_plan_is_asked_for() -> None:
    script = waiting()
    reason = "whole milk should be here by now; nobody has received it"
    told = {
        when: [(e.kind, getattr(e, "reason", "")) for e in script.give(f"Wed {when}", "tick")]
        for when in ("06:59", "07:00", "07:30", "08:00")
    }
    both = [("delivery_overdue", ""), ("replan_wanted", reason)]
    assert told == {"06:59": [], "07:00": both, "07:30": [], "08:00": both}
    assert script.last.effects == (AskForPlan(reason),)


def test_other_news_of_the_same_instant_is_the_reason_of_the_plan_and_the_delivery_is_on_record_beside_it() -> None:
    script = waiting()
    script.give("Wed 06:30", "stop_machine", equipment="churn", until=at("Wed 07:00"), person=WHO)
    events = script.give("Wed 07:00", "tick")
    assert [e.kind for e in events] == ["machine_returned", "delivery_overdue", "replan_wanted"]
    assert [getattr(e, "reason", None) for e in events[2:]] == ["churn is back"]


def test_delivery_that_no_open_work_takes_is_told_to_nobody() -> None:
    script = waiting()
    script.give("Wed 06:30", "start_task", task="C1.cook", person=WHO, checked=[GATE])
    assert [e.kind for e in script.give("Wed 07:00", "tick")] == []


def test_alarm_says_since_when_it_is_overdue_and_for_which_order() -> None:
    script = waiting()
    assert alarm(script, "Wed 06:59") is None
    facts = alarm(script, "Wed 07:10")
    assert facts is not None
    assert (facts.title, facts.since, facts.expected_at) == ("whole milk", at("Wed 07:00"), at("Wed 08:00"))
    assert facts.orders == ("SAT-STALL",)


def test_work_that_takes_it_asks_whether_it_is_here_and_who_says_so_goes_on() -> None:
    script = waiting()
    assert gates(script, "Wed 08:00") == [(GATE, None)]
    refusal = script.refused("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    assert refusal.status == "whole milk is not received yet"
    assert refusal.remedy.startswith("receive it, or look and say that it is here")
    script.give("Wed 08:01", "start_task", task="C1.cook", person=WHO, checked=[GATE])
    assert script.of("C1.cook").started_at == at("Wed 08:01")


@pytest.mark.parametrize(("quantity", "asked"), [("5 L", False), ("100 ml", True)])
def test_received_it_is_asked_about_no_more_if_it_is_enough(quantity: str, asked: bool) -> None:
    script = waiting()
    came = {"ingredient": "whole milk", "quantity": quantity, "keep": "cold", "celsius": 4.0, "outcome": "accepted"}
    if asked:
        came |= {"outcome": "short", "reason": "a crate is missing", "rest_at": at("Wed 12:00").isoformat()}
    script.give("Wed 07:30", "receive_delivery", person=WHO, **came)
    assert alarm(script, "Wed 07:31") is None
    assert bool(gates(script, "Wed 08:00")) is asked


def test_work_that_takes_none_of_it_is_not_asked() -> None:
    script = waiting()
    assert script.state.plan is not None
    task = script.state.plan.task(TaskId("S1.mix")) if any(t.id == "S1.mix" for t in script.state.plan.tasks) else None
    other = task or next(t for t in script.state.plan.tasks if t.lot == "S1" and t.kind.value == "work")
    assert [g for g in judge(script.state, script.facts, other, at("Wed 08:00")) if g.awaits] == []
