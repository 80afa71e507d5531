"""Figures adopted meanwhile: the planner uses them for what is new, and what has begun keeps its own."""

from collections.abc import Callable

import pytest

from orchestrator.core.check import check
from orchestrator.core.durations import with_figures
from orchestrator.core.ids import RecipeId, StepId, TaskId
from orchestrator.core.models import Actual, Duration, Kitchen, Plan, PlanRequest
from tests.fakes.tiny import at, tiny_kitchen
from tests.planner.planned import planned

COOK = (RecipeId("custard-base"), StepId("cook"))
CHURN = (RecipeId("basil-custard"), StepId("churn"))
SLOWER = Duration(shortest=20, usual=27, longest=35)


def begun(plan: Plan, *tasks: str) -> tuple[Actual, ...]:
    told = (plan.task(TaskId(task)) for task in tasks)
    return tuple(
        Actual(task=t.id, status="done", start=t.start, end=t.end, equipment=t.equipment, crew=t.spans[0].crew)
        for t in told
    )


@pytest.fixture
def first() -> Plan:
    return planned(PlanRequest(kitchen=tiny_kitchen(), now=at(0, "06:00")))


def slower(key: tuple[RecipeId, StepId] = CHURN) -> Kitchen:
    return with_figures(tiny_kitchen(), key, SLOWER)


def test_batch_that_has_not_begun_is_planned_with_the_adopted_figures(first: Plan) -> None:
    plan = planned(PlanRequest(kitchen=slower(), now=at(0, "06:00"), previous=first))
    churn = plan.task(TaskId("B1.churn"))
    assert churn.duration == SLOWER
    assert (churn.end - churn.start).total_seconds() == 27 * 60


def test_batch_that_has_begun_keeps_its_own_figures(first: Plan) -> None:
    """The base is cooked: its lot has begun, and the churned lot has not."""
    kitchen = with_figures(slower(), COOK, Duration(shortest=50, usual=55, longest=60))
    done = begun(first, "C1.cook")
    plan = planned(PlanRequest(kitchen=kitchen, now=done[0].end, previous=first, actuals=done))
    assert plan.task(TaskId("C1.cook")).duration.usual == 40
    assert plan.task(TaskId("B1.churn")).duration == SLOWER


def two_steps() -> Kitchen:
    """The tiny kitchen with the base weighed before it is cooked: a lot may have begun with work still to come."""
    data = tiny_kitchen().model_dump(mode="json")
    weigh = {**data["recipes"][0]["steps"][0], "id": "weigh", "title": "Weigh out", "equipment": None, "takes": []}
    cook = {**data["recipes"][0]["steps"][0], "after": [{"step": "weigh"}]}
    data["recipes"][0]["steps"] = [{**weigh, "station": "stove"}, cook, data["recipes"][0]["steps"][1]]
    return Kitchen.model_validate(data)


def _as_adopted(plan: Plan) -> Plan:
    cook = plan.task(TaskId("C1.cook")).model_copy(update={"duration": SLOWER})
    return plan.model_copy(update={"tasks": tuple(cook if t.id == cook.id else t for t in plan.tasks)})


def _as_begun(plan: Plan) -> Plan:
    return plan


@pytest.mark.parametrize(
    ("weighed", "change", "sound"),
    [(True, _as_begun, True), (True, _as_adopted, False), (False, _as_begun, False)],
)
def test_checker_knows_whose_figures_a_waiting_step_has(
    weighed: bool, change: Callable[[Plan], Plan], sound: bool
) -> None:
    first = planned(PlanRequest(kitchen=two_steps(), now=at(0, "06:00")))
    done = begun(first, "C1.weigh") if weighed else ()
    now = done[0].end if done else at(0, "06:00")
    adopted = with_figures(two_steps(), COOK, SLOWER)
    request = PlanRequest(kitchen=adopted, now=now, previous=first, actuals=done)
    faults = [v for v in check(change(first), request) if v.rule == "recipe"]
    assert (faults == []) is sound
    again = planned(request)
    assert again.task(TaskId("C1.cook")).duration.usual == (40 if weighed else 27)
