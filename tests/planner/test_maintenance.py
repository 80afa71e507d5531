"""Planned stops of a machine: nothing runs through them, the plan knows of them beforehand, the check finds them."""

from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.models import Maintenance, PlanRequest
from orchestrator.planner.demand import explode
from orchestrator.planner.pose import pose
from tests.fakes.tiny import START, at, tiny_data, tiny_request
from tests.planner.planned import planned


def with_maintenance(machine: str, *stops: tuple[Any, Any]) -> PlanRequest:
    data = tiny_data()
    found = next(m for m in data["equipment"] if m["id"] == machine)
    found["maintenance"] = [{"start": start, "end": end, "why": "Service"} for start, end in stops]
    return tiny_request(data)


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_plan_works_round_the_maintenance_of_the_only_churn(effort: Any):
    before = planned(tiny_request(), effort).task("B1.churn")
    stop = (before.start + timedelta(minutes=5), before.end + timedelta(hours=1))
    request = with_maintenance("churn", stop)
    plan = planned(request, effort)
    churn = plan.task("B1.churn")
    assert churn.end <= stop[0] or churn.start >= stop[1]
    assert check(plan, request) == ()


def test_check_finds_a_run_in_the_maintenance_of_its_machine():
    plan = planned(tiny_request())
    churn = plan.task("B1.churn")
    found = check(plan, with_maintenance("churn", (churn.end - timedelta(minutes=1), churn.end + timedelta(hours=1))))
    assert [(violation.rule, violation.tasks) for violation in found] == [("stopped", ("B1.churn",))]
    assert "in maintenance" in found[0].says
    touching = with_maintenance("churn", (churn.end, churn.end + timedelta(hours=1)))
    assert check(plan, touching) == ()


def test_pose_merges_stops_of_today_with_those_planned():
    request = with_maintenance("churn", (at(0, "09:00"), at(0, "10:00")), (at(1, "09:00"), at(1, "09:30")))
    told = [{"equipment": "churn", "start": START, "end": at(0, "09:30")}]
    request = PlanRequest.model_validate(request.model_dump() | {"stops": told})
    churn = next(machine for machine in pose(request, explode(request)).machines if machine.id == "churn")
    # Stopped from 06:00 (minute 0) to 10:00, and the day after from 09:00 to 09:30.
    assert churn.stops == ((0, 240), (1620, 1650))


def test_maintenance_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="must end after it starts"):
        Maintenance(start=at(0, "10:00"), end=at(0, "09:00"))
