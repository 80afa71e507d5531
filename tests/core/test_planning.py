"""What the planner is told, and when things in hand end."""

from dataclasses import replace
from datetime import datetime

import pytest

from orchestrator.core.ids import CrewId, EquipmentId, LotCode, TaskId
from orchestrator.core.models import Actual, Stop
from orchestrator.core.planning import UNKNOWN_STOP, expected_end, plan_request
from orchestrator.core.state import State
from tests.core.script import cook, in_a_planned_kitchen, with_base_aged
from tests.core.stock_script import churned_and_tempered
from tests.fakes.kitchens import at


def test_request_without_a_kitchen_raises() -> None:
    with pytest.raises(ValueError, match="no kitchen"):
        plan_request(State(), at("Wed 06:00"))


def test_request_of_a_fresh_kitchen_has_no_actuals() -> None:
    script = in_a_planned_kitchen()
    request = plan_request(script.state, at("Wed 06:00"))
    assert (request.actuals, request.stops, request.held_lots, request.lost_lots) == ((), (), (), ())
    assert request.previous is script.state.plan


def test_request_tells_what_is_done_in_hand_and_skipped() -> None:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 07:00", "Wed 07:28")
    script.give("Wed 07:30", "skip_task", task="S1.chill", reason="cold already", person="early-cook")
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    script.give("Wed 08:10", "extend_task", task="C1.cook", minutes=15)
    request = plan_request(script.state, at("Wed 08:12"))
    told = {actual.task: actual for actual in request.actuals}
    early = (CrewId("early-cook"),)
    assert told[TaskId("S1.simmer")] == Actual(
        task=TaskId("S1.simmer"),
        status="done",
        start=at("Wed 07:00"),
        end=at("Wed 07:28"),
        equipment=EquipmentId("hob-1"),
        crew=early,
    )
    assert told[TaskId("S1.chill")].status == "skipped"
    assert (told[TaskId("S1.chill")].start, told[TaskId("S1.chill")].end) == (at("Wed 07:30"), at("Wed 07:30"))
    assert (told[TaskId("C1.cook")].status, told[TaskId("C1.cook")].end) == ("in hand", at("Wed 08:55"))
    assert told[TaskId("S1.age")].crew == ()
    assert request.stretched == {TaskId("C1.cook"): 15}


def test_request_tells_stops_and_lots() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:00", "stop_machine", equipment="churn", until=at("Wed 09:00"))
    script.give("Wed 07:00", "stop_machine", equipment="freezer")
    for task, lot, decision in (("C1.cook", "C1", "discard"), ("S1.simmer", "S1", "rework"), ("B1.churn", "B1", "")):
        script.give("Wed 07:05", "report_problem", task=task, what="quality", hold_lot=True)
        if decision:
            script.give("Wed 07:06", "decide_lot", lot=lot, decision=decision, reason="x", person="manager")
    request = plan_request(script.state, at("Wed 08:00"))
    assert request.stops == (
        Stop(equipment=EquipmentId("churn"), start=at("Wed 07:00"), end=at("Wed 09:00")),
        Stop(equipment=EquipmentId("freezer"), start=at("Wed 07:00"), end=at("Wed 07:00") + UNKNOWN_STOP),
    )
    assert request.held_lots == (LotCode("B1"),)
    assert request.lost_lots == (LotCode("C1"), LotCode("S1"))
    assert [s.equipment for s in plan_request(script.state, at("Wed 09:00")).stops] == ["freezer"]


@pytest.mark.parametrize(
    ("task", "now", "end"),
    [
        ("C1.cook", at("Wed 12:00"), at("Wed 08:40")),  # done: in fact
        ("C1.age.B1", at("Wed 12:00"), at("Thu 09:00")),  # a stay in hand: as planned
        ("C1.age.B1", at("Thu 10:00"), at("Thu 10:00")),  # nobody has taken it yet
        ("B1.churn", at("Wed 12:00"), at("Thu 09:30")),  # waits: as planned
        ("B1.churn", at("Thu 09:20"), at("Thu 09:50")),  # its time has passed: at the earliest now
    ],
)
def test_expected_end_of_a_task(task: str, now: datetime, end: datetime) -> None:
    state = with_base_aged(in_a_planned_kitchen()).state
    assert expected_end(state, TaskId(task), now) == end


def test_expected_end_of_work_in_hand_is_never_past() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:05", "start_task", task="C1.cook")
    assert expected_end(script.state, TaskId("C1.cook"), at("Wed 08:30")) == at("Wed 08:45")
    assert expected_end(script.state, TaskId("C1.cook"), at("Wed 09:30")) == at("Wed 09:30")


def test_expected_end_of_a_task_not_in_the_plan_raises() -> None:
    with pytest.raises(KeyError):
        expected_end(in_a_planned_kitchen().state, TaskId("C9.cook"), at("Wed 08:00"))
    with pytest.raises(KeyError):
        expected_end(State(), TaskId("C9.cook"), at("Wed 08:00"))


def test_what_an_order_has_that_a_later_plan_leaves_out_is_not_promised_again() -> None:
    """It got 4.8 L of the 4.9 L measured, where 4.8 L were planned, and the plan has no peg of it any more.

    Found by weeks of chance kitchens: half a litre that was handed over was promised to the next order.
    """
    state = churned_and_tempered().state
    assert state.plan is not None
    assert plan_request(state, at("Sat 11:00")).counted[LotCode("B1")] == pytest.approx(0.1)
    pegs = tuple(peg for peg in state.plan.pegs if peg.order != "SAT-STALL")
    left_out = replace(state, plan=state.plan.model_copy(update={"pegs": pegs}))
    assert plan_request(left_out, at("Sat 11:00")).counted[LotCode("B1")] == pytest.approx(0.1 - 4.8)
