"""A new revision of a recipe: what has begun is made to its end as it began, what has not is planned anew."""

from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import Kitchen, Plan, PlanRequest, Recipe
from orchestrator.core.revisions import revised
from tests.fakes.tiny import at, base_recipe, tiny_data, tiny_kitchen
from tests.planner.planned import planned
from tests.planner.test_own_figures import begun


def weighed_base() -> dict[str, Any]:
    """The base is weighed out before it is cooked: a lot may have begun with work still to come."""
    base = base_recipe()
    cook, age = base["steps"]
    weigh = {**cook, "id": "weigh", "title": "Weigh out", "takes": []}
    del weigh["equipment"]
    base["steps"] = [{**weigh, "station": "stove"}, cook, age]
    return base


def kitchen_one() -> Kitchen:
    data = tiny_data()
    data["recipes"][0] = weighed_base()
    return tiny_kitchen(data)


def longer_base() -> Recipe:
    """Revision 2 is cooked for longer, strained by nobody, and aged for a day at least."""
    base = weighed_base()
    base["revision"] = 2
    base["steps"][1]["duration"] = {"shortest": 50, "usual": 60, "longest": 70}
    base["steps"][2]["stay"] = {"least": 1440, "most": 4320, "window": "quality"}
    return Recipe.model_validate(base)


def kitchen_two() -> Kitchen:
    kitchen = revised(kitchen_one(), longer_base())
    assert isinstance(kitchen, Kitchen)
    return kitchen


@pytest.fixture
def first() -> Plan:
    return planned(PlanRequest(kitchen=kitchen_one(), now=at(0, "06:00")))


def _age_min(plan: Plan) -> float:
    aged = plan.task(TaskId("C1.age.B1"))
    return (aged.end - aged.start).total_seconds() / 60


def test_batch_that_has_begun_is_made_by_the_revision_it_began_with(first: Plan) -> None:
    done = begun(first, "C1.weigh")
    plan = planned(PlanRequest(kitchen=kitchen_two(), now=done[0].end, previous=first, actuals=done))
    (base,) = (batch for batch in plan.batches if batch.lot == "C1")
    assert base.revision == 1
    assert plan.task(TaskId("C1.cook")).duration.usual == 40
    assert plan.task(TaskId("C1.age.B1")).duration.shortest == 720


def test_batch_that_nobody_has_begun_is_made_by_the_new_revision_under_its_code(first: Plan) -> None:
    plan = planned(PlanRequest(kitchen=kitchen_two(), now=at(0, "06:00"), previous=first))
    assert {batch.lot: batch.revision for batch in plan.batches} == {"C1": 2, "B1": 1}
    assert plan.task(TaskId("C1.cook")).duration.usual == 60
    assert _age_min(plan) >= 1440


def test_checker_refuses_a_new_batch_of_an_old_revision(first: Plan) -> None:
    request = PlanRequest(kitchen=kitchen_two(), now=at(0, "06:00"), previous=first)
    assert [v.says for v in check(first, request)] == [
        "C1 is of revision 1 of Custard base, and nobody has begun it: revision 2 holds"
    ]


def test_checker_holds_a_begun_batch_to_its_own_revision(first: Plan) -> None:
    """Its cooking may not take the minutes of the new revision, nor be called a part of it."""
    done = begun(first, "C1.weigh")
    request = PlanRequest(kitchen=kitchen_two(), now=done[0].end, previous=first, actuals=done)
    assert check(first, request) == ()
    cook = first.task(TaskId("C1.cook")).model_copy(update={"revision": 2})
    changed = first.model_copy(update={"tasks": tuple(cook if t.id == cook.id else t for t in first.tasks)})
    assert [v.says for v in check(changed, request)] == ["C1.cook: revision is 2, its batch is of 1"]


def test_lot_of_an_old_revision_still_serves_what_takes_it(first: Plan) -> None:
    done = begun(first, "C1.weigh", "C1.cook")
    plan = planned(PlanRequest(kitchen=kitchen_two(), now=done[-1].end, previous=first, actuals=done))
    assert {peg.lot for peg in plan.pegs if peg.batch == LotCode("B1")} == {"C1"}
