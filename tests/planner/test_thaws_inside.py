"""Lives go on where food thaws inside a recipe, and where an order's own step takes it frozen: worked out by hand.

FDA Food Code 2022, 3-501.17, Annex 3 (from memory): freezing stops the count and does not begin it anew.
"""

from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.lives import Clocks
from orchestrator.core.models import Actual, PlanRequest
from orchestrator.core.models.recipe import Recipe
from orchestrator.planner import specs
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import at, tiny_request
from tests.planner.planned import planned
from tests.planner.test_lives import DAY, mixed, only, spec_of
from tests.planner.test_thawed_lives import thawed

EFFORTS = pytest.mark.parametrize("effort", ["repair", "full"])
HANDED_OVER = 10
THAWING = 15
"""Minutes of the hand-over, and the longest of the thawing."""


def _inside(life: int) -> dict[str, Any]:
    """The base is mixed, the mix frozen at once; it is thawed at the hob, rests in the fridge and is churned."""
    data = mixed(life)
    mix, rest, *churned = data["recipes"][1]["steps"]
    freeze = {"id": "keep", "process": "store", "title": "Keep frozen", "equipment": "freezer", "frozen": True}
    freeze |= {"load": "4 L", "stay": {"least": 240, "most": 10080, "window": "quality"}}
    thaw = {key: value for key, value in mix.items() if key != "takes"}
    thaw |= {"id": "thaw", "title": "Thaw the mix", "equipment": "hob", "frozen": False}
    data["recipes"][1]["steps"] = [mix, freeze, thaw, rest, *churned]
    return data


def _request(life: int, *, friday: bool = True) -> PlanRequest:
    """The churn is free on Saturday alone, the hob on Wednesday and, where asked for, on Friday afternoon."""
    spans = [(at(0, "06:00"), at(0, "18:00")), *([(at(2, "11:00"), at(2, "18:00"))] if friday else [])]
    data = only(_inside(life), "hob-1", *spans)
    return tiny_request(only(data, "churn", (at(3, "06:00"), at(3, "12:00"))))


@EFFORTS
def test_mix_that_thaws_inside_its_recipe_is_frozen_again_within_what_was_left(effort: Any):
    plan = planned(_request(2 * DAY), effort)
    thawed_at, churned_at = plan.task("B1.thaw").start, plan.task("B1.churn").start
    assert thawed_at >= at(2, "11:00")
    before = plan.task("B1.keep").start - plan.task("C1.cook").end
    assert before + (churned_at - thawed_at) <= timedelta(minutes=2 * DAY)


@EFFORTS
def test_mix_that_can_only_thaw_too_long_before_the_churn_leaves_the_order_unmet(effort: Any):
    """Thawed on Wednesday it would stand for three days; it keeps for two, and for four it would do."""
    assert [outlook.met for outlook in planned(_request(2 * DAY, friday=False), effort).outlooks] == [False]
    assert [outlook.met for outlook in planned(_request(8 * DAY, friday=False), effort).outlooks] == [True]


def test_life_is_shared_between_before_the_freezer_and_after_the_thaw():
    request = _request(2 * DAY)
    share = THAWING + 60 + (2 * DAY - THAWING - 60) // 2  # thawing and the least rest are needed in any case
    assert [(life.lot, life.after, life.most) for life in spec_of(request, "B1.mix").lives] == [
        ("C1", "C1.cook", 2 * DAY - HANDED_OVER - 10 - share)  # mixing takes 10 and is frozen as it ends
    ]
    assert [(life.lot, life.after, life.most) for life in spec_of(request, "B1.churn").lives] == [
        ("C1", "B1.thaw", share - THAWING - HANDED_OVER)
    ]


def test_as_it_is_frozen_in_fact_what_is_left_is_exact():
    """Cooked by 08:40, frozen by 10:00 of the same day: 80 min of two days are gone."""
    request = _request(2 * DAY)
    first = planned(request)
    done = (
        Actual(task="C1.cook", status="done", start=at(0, "08:00"), end=at(0, "08:40"), equipment="hob-1"),
        Actual(task="B1.mix", status="done", start=at(0, "09:50"), end=at(0, "10:00"), equipment=None),
    )
    told = request.model_copy(update={"now": at(0, "10:00"), "previous": first, "actuals": done})
    assert [(life.lot, life.after, life.most) for life in spec_of(told, "B1.churn").lives] == [
        ("C1", "B1.thaw", 2 * DAY - 80 - THAWING - HANDED_OVER)
    ]


def test_plan_made_without_the_rule_is_found_by_the_check(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(specs.Lives, "of_batch", lambda _self, _lot: {})
    answer = make_plan(_request(2 * DAY, friday=False), effort="repair", seconds=1)
    assert answer.plan is None
    assert any("after the life of C1 ends" in says for says in answer.violations)


def _topped(life: int) -> dict[str, Any]:
    """A sauce is made at the hob and kept frozen; for each order it is thawed there, warmed and handed over."""
    data = thawed(life)
    base, product = data["recipes"]
    product["steps"] = [step for step in product["steps"] if step["id"] not in ("mix", "rest")]
    hand_over = product["steps"][-1]
    sauce = {
        **base,
        "id": "sauce",
        "name": "Sauce",
        "code": "S",
        "yields": "1 L",
        "batch": {"least": "1 L", "most": "2 L"},
    }
    sauce["steps"] = [base["steps"][0], base["steps"][1] | {"load": "1 L"}]
    thaw = {key: hand_over[key] for key in ("station", "duration", "attended", "skill", "per")}
    thaw |= {"id": "thaw", "process": "mix", "title": "Thaw the sauce", "station": "stove", "skill": "cook"}
    thaw |= {"equipment": "hob", "takes": [{"component": "sauce", "amount": "1 L"}]}
    product["steps"] = [*product["steps"][:-1], thaw, hand_over]
    data["recipes"] = [sauce, product]
    return data


def test_component_that_an_orders_own_step_takes_frozen_has_a_life_until_the_hand_over():
    lives = spec_of(tiny_request(_topped(DAY)), "SAT-STALL.B.hand-over").lives
    # Out from the start of the thawing (20 min at most) to the end of the hand-over (10).
    assert [(life.lot, life.after, life.most) for life in lives] == [("S1", "SAT-STALL.B.thaw", DAY - 20 - HANDED_OVER)]


@EFFORTS
def test_order_whose_sauce_can_only_be_thawed_days_before_is_left_unmet(effort: Any):
    """The hob is free on Wednesday alone, and the order is due on Saturday: the sauce would stand for three days."""
    data = only(_topped(DAY), "hob-1", (at(0, "06:00"), at(0, "18:00")))
    assert [outlook.met for outlook in planned(tiny_request(data), effort).outlooks] == [False]
    assert [outlook.met for outlook in planned(tiny_request(_topped(DAY)), effort).outlooks] == [True]


def test_sauce_on_hand_in_the_freezer_goes_on_from_the_orders_own_step():
    data = _topped(DAY)
    stock = {"lot": "S9", "recipe": "sauce", "quantity": "2 L", "made": at(-2, "12:00"), "place": "freezer"}
    request = tiny_request(data | {"stock": [stock]})
    plan = planned(request)
    clocks = Clocks(plan, request.kitchen, lambda t: plan.task(t).end, lambda t: plan.task(t).start)
    due = next(due for due in clocks.dues() if due.task == "SAT-STALL.B.hand-over")
    assert [(clock.lot, clock.until) for clock in due.clocks] == [
        ("S9", plan.task("SAT-STALL.B.thaw").start + timedelta(minutes=DAY))
    ]


def test_batch_ends_frozen_unless_its_last_thaw_comes_after_the_freezer():
    recipes = {recipe.id: recipe for recipe in tiny_request(_inside(DAY)).kitchen.recipes}
    product: Recipe = recipes["basil-custard"]
    assert product.ends_frozen
    assert not product.model_copy(update={"steps": product.steps[:4]}).ends_frozen
    assert not recipes["custard-base"].ends_frozen
