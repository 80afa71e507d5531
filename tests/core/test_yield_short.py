"""A component that gives too little is planned anew, by hand in the tiny kitchen: what is missing is made as well."""

from datetime import datetime, timedelta

import pytest

from orchestrator.core.events import ReplanWanted
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Kitchen, Plan
from orchestrator.core.planning import plan_request
from tests.core.script import Script
from tests.fakes.tiny import START, tiny_data
from tests.planner.planned import planned


def kitchen(percent: float = 2.0) -> Kitchen:
    """A base that is measured as it leaves the hob: 4.2 L for the 4 L of a stall, 0.2 L stay in the churn."""
    data = tiny_data()
    data["recipes"][0]["steps"][0]["measure"] = "volume_l"
    data["recipes"][0]["batch"]["least"] = "1 L"
    data["equipment"][1]["least"] = "1 L"
    data["recipes"][1]["batch"]["least"] = "1 L"
    data["warnings"] = {"yield_short_percent": percent}
    return Kitchen.model_validate(data)


def cooked(litres: float, percent: float = 2.0) -> tuple[Script, tuple[object, ...]]:
    """The base was cooked when it was planned, and gave so much."""
    script = Script(kitchen=kitchen(percent))
    script.give(START, "import_kitchen", kitchen=script.kitchen)
    plan = planned(plan_request(script.state, START))
    script.give(START, "offer_plan", plan=plan)
    cook = plan.task(TaskId("C1.cook"))
    assert sum(batch.size.value for batch in plan.batches if batch.recipe == "custard-base") == pytest.approx(4.2)
    script.give(cook.start, "start_task", task="C1.cook", person="early-cook")
    told = {"measured": {"volume_l": litres}, "override_reason": "boiled over"}
    return script, script.give(cook.end, "finish_task", task="C1.cook", person="early-cook", **told)


def anew(script: Script) -> Plan:
    return planned(plan_request(script.state, script.now + timedelta(minutes=1)))


def wanted(events: tuple[object, ...]) -> list[str]:
    return [event.reason for event in events if isinstance(event, ReplanWanted)]


def test_base_that_gives_a_litre_too_little_has_the_rest_made_and_the_order_is_met() -> None:
    script, events = cooked(3.2)
    assert wanted(events) == ["C1 gave 3.2 L, 4.2 were planned"]
    assert plan_request(script.state, script.now).counted == {"C1": pytest.approx(-1.0)}
    plan = anew(script)
    more = [batch for batch in plan.batches if batch.recipe == "custard-base" and batch.lot != "C1"]
    # A litre of base is missing; from two runs 0.2 L each stay in the churn, from one run once.
    assert sum(batch.size.value for batch in more) >= 1.0 - 1e-6
    taken = sum(peg.quantity.value for peg in plan.pegs if peg.lot == "C1")
    assert taken <= 3.2 + 1e-6
    assert all(outlook.met for outlook in plan.outlooks)
    made: datetime = min(task.start for task in plan.tasks if task.lot in {batch.lot for batch in more})
    assert made > script.now


def test_base_that_gives_a_hundredth_less_is_a_matter_for_the_books() -> None:
    script, events = cooked(4.15)
    assert wanted(events) == []
    assert plan_request(script.state, script.now).counted == {}
    assert [batch.lot for batch in anew(script).batches if batch.recipe == "custard-base"] == ["C1"]


@pytest.mark.parametrize(("percent", "planned_anew"), [(2.0, True), (30.0, False)])
def test_kitchen_says_how_little_is_too_little(percent: float, planned_anew: bool) -> None:
    _, events = cooked(3.4, percent)
    assert bool(wanted(events)) is planned_anew


def test_what_is_made_beyond_the_plan_is_there_for_others_and_asks_for_no_plan() -> None:
    script, events = cooked(5.2)
    assert wanted(events) == []
    assert plan_request(script.state, script.now).counted == {"C1": pytest.approx(1.0)}
