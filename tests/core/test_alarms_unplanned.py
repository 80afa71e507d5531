"""An order that nobody plans raises an alarm: the plan with it was declined, or not decided in time."""

from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.alarms import conditions
from orchestrator.core.due import next_due
from orchestrator.core.events import PlanAdopted, PlanDeclined, PlanProposed
from orchestrator.core.ids import AlarmId, CommandId
from orchestrator.core.models.alarm import AlarmKind, Help
from orchestrator.core.planning import PLAN_PATIENCE
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.test_change_kitchen import ADD, changed
from tests.fakes.kitchens import at

PARTY = AlarmId("order_unplanned:FRI-PARTY")


def unplanned(script: Script) -> list[str]:
    alarms = script.state.alarms.values()
    return [a.id for a in alarms if a.facts.kind is AlarmKind.ORDER_UNPLANNED and a.standing]


def proposed(script: Script, when: str, *changes: dict[str, Any]) -> None:
    """The change is put down, and a plan with it waits until three quarters of an hour later."""
    changed(script, when, *changes)
    assert script.state.plan is not None
    by = at(when) + timedelta(minutes=45)
    waits = PlanProposed(plan=script.state.plan, at=at(when), moves=(), waits_for=("SAT-STALL late",), decide_by=by)
    script.record(CommandId("offer"), (waits,))
    assert unplanned(script) == []


def test_order_whose_plan_is_declined_raises_an_alarm_that_says_until_when() -> None:
    script = in_a_planned_kitchen()
    proposed(script, "Wed 07:00", ADD)
    assert script.state.proposal is not None
    events = script.give("Wed 07:10", "decide_plan", proposal=script.state.proposal.seq, adopt=False, person="manager")
    assert isinstance(events[0], PlanDeclined)
    assert unplanned(script) == [PARTY]
    facts = script.state.alarms[PARTY].facts
    assert (facts.title, facts.orders, facts.limit_at) == ("Birthday", ("FRI-PARTY",), at("Fri 15:00"))
    assert facts.reason == "not planned"
    assert facts.helps == (Help.ASK_FOR_PLAN, Help.TELL_CUSTOMER)


def test_order_whose_plan_nobody_decides_about_raises_an_alarm_when_its_time_is_over() -> None:
    script = in_a_planned_kitchen()
    proposed(script, "Wed 07:00", ADD)
    script.give("Wed 07:46", "tick")
    assert script.state.proposal is None
    assert unplanned(script) == [PARTY]


def test_alarm_is_over_once_a_plan_with_the_order_is_adopted_or_the_order_is_dropped() -> None:
    for ends in ("adopted", "dropped"):
        script = in_a_planned_kitchen()
        proposed(script, "Wed 07:00", ADD)
        script.give("Wed 07:46", "tick")
        assert unplanned(script) == [PARTY]
        if ends == "adopted":
            assert script.state.plan is not None
            script.record(CommandId("new"), (PlanAdopted(plan=script.state.plan, at=at("Wed 07:50"), person=None),))
            script.give("Wed 07:51", "tick")
        else:
            changed(script, "Wed 07:50", {"change": "drop order", "order": "FRI-PARTY"})
        assert unplanned(script) == []


def test_alarm_waits_while_the_planner_is_at_work_and_no_longer_than_that() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 07:00", ADD)
    assert unplanned(script) == []
    patience = at("Wed 07:00") + PLAN_PATIENCE
    due = next_due(script.state, at("Wed 07:00"))
    assert due is not None
    assert due <= patience
    script.give(patience, "tick")
    assert unplanned(script) == [PARTY]


def test_asking_for_a_plan_quiets_the_alarm_until_it_must_be_there() -> None:
    script = in_a_planned_kitchen()
    proposed(script, "Wed 07:00", ADD)
    script.give("Wed 07:46", "tick")
    script.give("Wed 08:00", "ask_replan", person="manager")
    assert PARTY not in conditions(script.state, script.facts, at("Wed 08:00"))
    assert PARTY in conditions(script.state, script.facts, at("Wed 08:00") + PLAN_PATIENCE)


@pytest.mark.parametrize(("amount", "raised"), [("6 L", True), ("3 L", False)])
def test_more_of_a_known_order_is_told_and_less_is_not(amount: str, raised: bool) -> None:
    script = in_a_planned_kitchen()
    lines = [{"product": "basil-custard", "quantity": amount}]
    proposed(script, "Wed 07:00", {"change": "change order", "order": "SAT-STALL", "lines": lines})
    script.give("Wed 07:46", "tick")
    assert unplanned(script) == (["order_unplanned:SAT-STALL"] if raised else [])
    if raised:
        assert script.state.alarms[AlarmId("order_unplanned:SAT-STALL")].facts.reason == "planned for less"
