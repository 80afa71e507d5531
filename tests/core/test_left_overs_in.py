"""The date of a left-over goes into the batch that takes it, and on into what is made of that.

FDA Food Code 2022, 3-501.17(D): food combined with what was prepared before keeps the date of what was prepared
first; its Annex 3 on the same paragraph: freezing stops the count. Both from memory. That cooking again by a limit
begins a date of its own is common practice.
"""

from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.day_marks import mark_of
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.left_overs_in import left_overs_in
from orchestrator.core.models import Kitchen, PlanRequest, Recipe
from orchestrator.core.models.limit import LimitId, LimitUse
from orchestrator.core.planning import plan_request
from orchestrator.kitchen.shipped import shipped_limits
from tests.core.script import Script, at_target, in_a_planned_kitchen
from tests.core.test_by_products import WHITES, leaving
from tests.fakes.kitchens import at, small_kitchen
from tests.planner.planned import planned

COOK = "early-cook"
SORBET, LEFT = LotCode("S1"), "C1-left-1"


def kitchen(*, cooked_in: bool = False, kept_cold: bool = False, **leave: Any) -> dict[str, Any]:
    """Whites left of the base's eggs on Wednesday at 08:40 keep for a day; the sorbet takes some as it simmers."""
    recipes = []
    for recipe in leaving(small_kitchen(), {**WHITES, "of": None, "keeps": 1440, **leave}):
        told = recipe.model_dump(mode="json")
        if recipe.id == "damson-sorbet":
            told["steps"][0]["takes"].append({"ingredient": "egg white", "amount": "300 g", "allergens": ["egg"]})
            told["allergens"] = ["egg"]
        made = Recipe.model_validate(told)
        limits = {"simmer": "raw-egg"} if cooked_in else {}
        limits |= {"age": "ageing"} if kept_cold else {}
        mine = limits if recipe.id == "damson-sorbet" else {}
        steps = tuple(
            step.model_copy(update={"limit": LimitUse(id=LimitId(mine[step.id]))}) if step.id in mine else step
            for step in made.steps
        )
        recipes.append(made.model_copy(update={"steps": steps}))
    return {"recipes": recipes, "limits": shipped_limits().limits}


def simmering(when: str = "Wed 10:30", **how: Any) -> Script:
    """The whites are in the pot."""
    told = kitchen(**how)
    made: Kitchen = small_kitchen(**told)
    script = in_a_planned_kitchen(planned(PlanRequest(kitchen=made, now=made.planning_start)), **told)
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=COOK)
    script.give(when, "start_task", task="S1.simmer", person=COOK)
    return script


def test_date_of_the_whites_is_the_date_of_the_sorbet_until_it_is_frozen_and_a_plan_is_asked_for() -> None:
    script = simmering()
    (one,) = left_overs_in(script.state)
    assert (one.task, one.lot, one.until, one.cooked_in) == ("S1.simmer", LEFT, at("Thu 08:40"), None)
    assert script.state.replan_reason == "C1-left-1 went into S1, with its date"
    plan = planned(plan_request(script.state, at("Wed 10:31")))
    # It is churned, which freezes it, before the whites run out; the checker asks for it by itself.
    churn = plan.task(TaskId("S1.churn"))
    assert churn.start <= at("Thu 08:40")
    late = tuple(
        task.model_copy(update={"start": at("Thu 09:00"), "end": at("Thu 09:30")}) if task.id == churn.id else task
        for task in plan.tasks
    )
    says = [
        fault.says for fault in check(plan.model_copy(update={"tasks": late}), plan_request(script.state, script.now))
    ]
    assert any("after the life of C1-left-1 ends" in one for one in says)


def test_undated_left_over_brings_nothing_along() -> None:
    script = simmering(keeps=None)
    assert left_overs_in(script.state) == ()
    assert script.state.replan_reason != "C1-left-1 went into S1, with its date"


def test_whites_that_the_same_step_cooks_by_a_limit_bring_no_date_along() -> None:
    script = simmering(cooked_in=True)
    (one,) = left_overs_in(script.state)
    assert one.cooked_in == "simmer"
    plan = planned(plan_request(script.state, at("Wed 10:31")))
    assert all(life.lot != LEFT for task in plan.tasks for life in task.lives)


def test_start_that_is_taken_back_takes_the_date_back() -> None:
    script = simmering()
    script.give("Wed 10:31", "undo", act=script.state.acts[-1].seq, person=COOK)
    assert left_overs_in(script.state) == ()


def test_another_lot_said_to_have_gone_in_changes_the_date() -> None:
    script = simmering()
    whites = {"ingredient": "egg white", "quantity": "1 kg", "keep": "cold", "celsius": 3.0, "outcome": "accepted"}
    script.give("Wed 10:32", "receive_delivery", person=COOK, **whites)
    script.give("Wed 10:33", "use_lot", task="S1.simmer", lot="in-1", person=COOK)
    assert left_overs_in(script.state) == ()
    script.give("Wed 10:34", "use_lot", task="S1.simmer", lot=LEFT, person=COOK)
    assert [one.lot for one in left_overs_in(script.state)] == [LEFT]


@pytest.mark.parametrize(("cooked_in", "day", "oldest"), [(False, 2, LEFT), (True, 1, "S1")])
def test_date_mark_counts_from_the_day_of_the_whites_unless_they_are_cooked_again(
    cooked_in: bool, day: int, oldest: str
) -> None:
    script = simmering("Thu 08:00", cooked_in=cooked_in, kept_cold=True, keeps=2880)
    mark = mark_of(script.state, SORBET, at("Thu 09:00"))
    assert mark is not None
    assert (mark.day, mark.oldest) == (day, oldest)
