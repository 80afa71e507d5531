"""A plan that has gone as planned comes back unchanged: nothing moves minutes or a day later."""

from datetime import timedelta
from pathlib import Path

import pytest

from orchestrator.core.models import Plan, PlanRequest
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.plan import Effort, make_plan, workbench
from orchestrator.planner.problem import Schedule
from orchestrator.planner.score import score
from orchestrator.planner.score_changes import cleans_moved, moves
from tests.fakes.drift import as_planned

SECONDS = 2.0


@pytest.fixture(scope="module")
def request_at_first() -> PlanRequest:
    kitchen = read_kitchen(Path(__file__).parents[2] / "config")
    return PlanRequest(kitchen=kitchen, now=kitchen.planning_start)


@pytest.fixture(scope="module", params=["repair", pytest.param("full", marks=pytest.mark.slow)])
def plan(request: pytest.FixtureRequest, request_at_first: PlanRequest) -> Plan:
    effort: Effort = request.param
    found = make_plan(request_at_first, effort=effort, seconds=SECONDS, deterministic=True).plan
    assert found is not None
    return found


@pytest.mark.parametrize("after", [timedelta(minutes=7), timedelta(hours=26)])
def test_unchanged_plan_comes_back_as_it_was(request_at_first: PlanRequest, plan: Plan, after: timedelta) -> None:
    again = as_planned(request_at_first, plan, request_at_first.now + after)
    bench = workbench(again)
    assert moves(bench.problem, bench.schedule) == (0, 0)
    assert cleans_moved(bench.problem, bench.schedule) == 0
    was = Schedule(bench.problem.previous, bench.problem.cleans_before)
    assert score(bench.problem, bench.schedule) <= score(bench.problem, was)
    answer = make_plan(again, effort="repair", seconds=1.0)
    assert answer.plan is not None, answer.violations
    left_out = {o.order for o in plan.outlooks if o.met} - {o.order for o in answer.plan.outlooks if o.met}
    assert left_out == set()
