"""Ingredients that are not there from the start: no step takes them sooner, and what is late because of it says so."""

from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.models import PlanRequest
from orchestrator.core.projection import project
from orchestrator.core.state import State
from tests.fakes.tiny import at, tiny_data, tiny_request
from tests.planner.planned import planned


def awaiting(ready: Any, why: str = "delivery") -> PlanRequest:
    """The tiny kitchen, whose milk is there only then."""
    data = tiny_data()
    data["supplies"] = [{"ingredient": "milk", "ready": ready, "why": why}]
    return tiny_request(data)


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_plan_waits_for_the_milk_even_if_the_order_is_late(effort: Any):
    request = awaiting(at(3, "12:30"), "ripe")
    plan = planned(request, effort)
    # Saturday 12:30 is after the order is due, at 11:00. Cooking takes 40 min and the early cook leaves at 14:00.
    assert plan.task("C1.cook").start >= at(3, "12:30")
    (outlook,) = plan.outlooks
    assert outlook.late_min > 0
    assert "milk, ripe Sat 28 Nov 12:30" in outlook.reason


def test_check_finds_a_step_that_takes_what_is_not_there():
    plan = planned(tiny_request())
    cook = plan.task("C1.cook")
    found = check(plan, awaiting(cook.start.replace(second=30)))
    assert [(violation.rule, violation.tasks) for violation in found] == [("supplies", ("C1.cook",))]
    assert "which is delivered" in found[0].says
    assert check(plan, awaiting(cook.start)) == ()


def test_order_that_would_need_the_milk_sooner_is_unmet_and_names_it():
    request = awaiting(at(4, "13:30"))
    plan = planned(request)
    (outlook,) = plan.outlooks
    assert outlook.met is False
    assert "milk, delivered Sun 29 Nov 13:30" in outlook.reason


def test_projection_expects_no_earlier_start_than_the_delivery():
    plan = planned(tiny_request())
    cook = plan.task("C1.cook")
    late = at(2, "10:40")  # planned for that Friday, 09:20
    state = State(seq=1, kitchen=awaiting(late).kitchen, plan=plan, revision=1)
    assert project(state, at(0, "06:00"))[cook.id].start == late
