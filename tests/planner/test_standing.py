"""A plan that still holds comes back as it is."""

from dataclasses import replace

import pytest

from orchestrator.cli.example import example_kitchen
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.plan import make_plan
from orchestrator.planner.problem import Due, Place
from orchestrator.planner.standing import as_it_was
from tests.planner.problems import posed, work


@pytest.fixture(scope="module")
def planned() -> tuple[PlanRequest, Plan]:
    """The example kitchen after a short search: with runs closer together than serial generation puts them."""
    kitchen = read_kitchen(example_kitchen())
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    plan = make_plan(request, effort="full", seconds=2, deterministic=True).plan
    assert plan is not None
    return request, plan


def test_repair_of_a_plan_that_still_holds_moves_nothing(planned: tuple[PlanRequest, Plan]) -> None:
    request, plan = planned
    again = make_plan(request.model_copy(update={"previous": plan}), effort="repair", seconds=1.0).plan
    assert again is not None
    places = [{t.id: (t.start, t.end, t.equipment, t.spans) for t in p.tasks} for p in (plan, again)]
    assert places[0] == places[1]


def test_plan_before_comes_back_as_it_was() -> None:
    was = as_it_was(replace(posed([work("a", 10)], dues=(Due("O-1", (0,), 50),)), previous=(Place(30, 40),)))
    assert was is not None
    assert was.places == (Place(30, 40),)


@pytest.mark.parametrize(
    ("now", "previous"),
    [(31, (Place(30, 40),)), (0, (Place(45, 55),)), (0, (None,)), (0, ())],
    ids=["overtaken", "late", "without a place", "no plan before"],
)
def test_plan_before_that_does_not_hold_is_no_answer(now: int, previous: tuple[Place | None, ...]) -> None:
    problem = replace(posed([work("a", 10)], now=now, dues=(Due("O-1", (0,), 50),)), previous=previous)
    assert as_it_was(problem) is None
