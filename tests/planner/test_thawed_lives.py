"""What was frozen and is taken out keeps the life that it had left: cases that can be worked out by hand.

FDA Food Code 2022, 3-501.17, Annex 3 (from memory): freezing stops the count and does not begin it anew.
"""

from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.lives import Clocks
from orchestrator.core.models import Actual, PlanRequest
from orchestrator.planner import specs
from orchestrator.planner.demand import explode
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import at, tiny_request
from tests.planner.planned import planned
from tests.planner.test_lives import DAY, mixed, only, spec_of

EFFORTS = pytest.mark.parametrize("effort", ["repair", "full"])
HANDED_OVER = 10
MIXING = 15
"""Minutes of the hand-over, and the longest of the mixing."""


def thawed(life: int = DAY) -> dict[str, Any]:
    """The base goes into the freezer as it is cooked; it is mixed at the hob, rests in the fridge and is churned."""
    data = mixed(life)
    freeze = {"id": "keep", "process": "store", "title": "Keep frozen", "equipment": "freezer", "frozen": True}
    data["recipes"][0]["steps"][1] = {
        **freeze,
        "load": "8 L",
        "stay": {"least": 240, "most": 10080, "window": "quality"},
    }
    data["recipes"][1]["steps"][0]["equipment"] = "hob"
    return data


def _request(life: int, *, mixing: bool = True) -> PlanRequest:
    """The churn is free on Saturday alone, the hob on Wednesday and, where mixing is possible then, on Friday."""
    spans = [(at(0, "06:00"), at(0, "18:00")), *([(at(2, "11:00"), at(2, "18:00"))] if mixing else [])]
    data = only(thawed(life), "hob-1", *spans)
    return tiny_request(only(data, "churn", (at(3, "06:00"), at(3, "12:00"))))


@EFFORTS
def test_frozen_base_is_taken_out_no_longer_before_the_churn_than_it_keeps(effort: Any):
    """It keeps for a day: mixed on Friday it has a day left, mixed on Wednesday it would be thawed for three."""
    plan = planned(_request(DAY), effort)
    mixed_at, churned_at = plan.task("B1.mix").start, plan.task("B1.churn").start
    assert mixed_at >= at(2, "11:00")
    assert churned_at - mixed_at <= timedelta(minutes=DAY - HANDED_OVER)


@EFFORTS
def test_base_that_must_stand_thawed_for_longer_than_it_keeps_leaves_the_order_unmet(effort: Any):
    """The hob is free on Wednesday alone, so the base would stand in the fridge from Wednesday to Saturday."""
    assert [outlook.met for outlook in planned(_request(DAY, mixing=False), effort).outlooks] == [False]
    assert [outlook.met for outlook in planned(_request(4 * DAY, mixing=False), effort).outlooks] == [True]


def test_life_goes_on_from_the_step_that_takes_it_out_whole_where_it_was_frozen_at_once():
    lives = spec_of(_request(DAY), "B1.churn").lives
    assert [(life.lot, life.after, life.most) for life in lives] == [("C1", "B1.mix", DAY - MIXING - HANDED_OVER)]


def test_plan_made_without_the_rule_is_found_by_the_check(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(specs.Lives, "of_batch", lambda _self, _lot: {})
    answer = make_plan(_request(DAY, mixing=False), effort="repair", seconds=1)
    assert answer.plan is None
    assert any("after the life of C1 ends" in says for says in answer.violations)


def test_stock_out_of_the_freezer_has_its_life_from_the_step_that_takes_it():
    data = thawed(DAY)
    stock = {"lot": "C9", "recipe": "custard-base", "quantity": "6 L", "made": at(-2, "12:00"), "place": "freezer"}
    data["stock"] = [stock]
    request = tiny_request(data)
    lives = next(spec.lives for spec in explode(request).specs if spec.id == "B1.churn")
    assert [(life.lot, life.after, life.most) for life in lives] == [("C9", "B1.mix", DAY - MIXING - HANDED_OVER)]
    plan = planned(request)
    assert [peg.lot for peg in plan.pegs if peg.batch == "B1"] == ["C9"]


def test_facts_say_what_is_left_of_what_went_into_a_frozen_part():
    """C1 is cooked by 08:40 and keeps for two days; frozen in F1 a day later, a day is left for after the thaw."""
    data = thawed(2 * DAY)
    base = {**data["recipes"][0], "steps": [data["recipes"][0]["steps"][0]]}
    base["steps"] = [base["steps"][0], {**mixed()["recipes"][0]["steps"][1], "load": "8 L"}]
    frozen_mix = {
        "id": "frozen-mix",
        "name": "Frozen mix",
        "code": "F",
        "makes": "component",
        "yields": "4 L",
        "batch": {"least": "2 L", "most": "10 L"},
        "steps": [
            {
                "id": "blend",
                "process": "mix",
                "title": "Blend",
                "station": "stove",
                "duration": {"shortest": 5, "usual": 10, "longest": 15},
                "attended": [{"when": "throughout"}],
                "skill": "cook",
                "takes": [{"component": "custard-base", "amount": "4 L"}],
            },
            data["recipes"][0]["steps"][1] | {"load": "4 L"},
        ],
    }
    product = data["recipes"][1]
    product["steps"][0]["takes"] = [{"component": "frozen-mix", "amount": "4 L"}]
    data["recipes"] = [base, frozen_mix, product]
    request = tiny_request(data)
    first = planned(request)
    needed = MIXING + 60 + HANDED_OVER  # mixing, at least an hour's rest, hand-over
    share = needed + (2 * DAY - needed) // 2
    assert [(life.lot, life.most) for life in spec_of(request, "F1.blend").lives] == [("C1", 2 * DAY - share - 10)]
    assert [(life.lot, life.after, life.most) for life in spec_of(request, "B1.churn").lives] == [
        ("C1", "B1.mix", share - MIXING - HANDED_OVER)
    ]
    done = [
        Actual(task="C1.cook", status="done", start=at(0, "08:00"), end=at(0, "08:40"), equipment="hob-1"),
        Actual(task="F1.blend", status="done", start=at(1, "08:30"), end=at(1, "08:40"), equipment=None),
    ]
    told = request.model_copy(update={"now": at(1, "08:40"), "previous": first, "actuals": tuple(done)})
    assert [(life.lot, life.after, life.most) for life in spec_of(told, "B1.churn").lives] == [
        ("C1", "B1.mix", DAY - MIXING - HANDED_OVER)
    ]


def test_clocks_of_thawed_food_end_where_they_were_stopped():
    plan = planned(_request(DAY))
    request = _request(DAY)
    clocks = Clocks(plan, request.kitchen, lambda t: plan.task(t).end, lambda t: plan.task(t).start)
    due = next(due for due in clocks.dues() if due.task == "B1.churn")
    assert [(clock.lot, clock.until) for clock in due.clocks] == [
        ("C1", plan.task("B1.mix").start + timedelta(minutes=DAY))
    ]
