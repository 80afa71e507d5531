"""Shelf lives through mixing: the oldest ingredient governs until the mix is frozen, or handed over."""

from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.lives import Clocks
from orchestrator.core.models import Actual, PlanRequest, TaskSpec
from orchestrator.planner import specs
from orchestrator.planner.demand import explode
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.plan import make_plan
from orchestrator.planner.problem import Due, Job, Machine
from orchestrator.planner.score import lateness
from orchestrator.planner.solve import solve
from tests.fakes.tiny import at, tiny_data, tiny_request
from tests.planner.planned import planned
from tests.planner.problems import posed, work
from tests.planner.verifier import faults

DAY = 1440
EFFORTS = pytest.mark.parametrize("effort", ["repair", "full"])


def mixed(life: int | None = DAY, **churn: Any) -> dict[str, Any]:
    """The tiny kitchen: its base keeps for ``life`` minutes, is mixed, and rests before it is churned."""
    data = tiny_data()
    base, product = data["recipes"]
    base["shelf_life"] = life
    base["steps"][1]["stay"] = {"least": 0, "most": 4320, "window": "quality"}
    product["steps"][0].pop("takes")
    mix = {
        "id": "mix",
        "process": "mix",
        "title": "Mix",
        "station": "stove",
        "duration": {"shortest": 5, "usual": 10, "longest": 15},
        "attended": [{"when": "throughout"}],
        "skill": "cook",
        "takes": [{"component": "custard-base", "amount": "4 L"}],
    }
    rest = {
        "id": "rest",
        "process": "store",
        "title": "Rest the mix",
        "equipment": "fridge",
        "load": "4 L",
        "stay": {"least": 60, "most": 4320, "window": "quality"},
    }
    product["steps"][0].update(churn)
    product["steps"] = [mix, rest, *product["steps"]]
    return data


def only(data: dict[str, Any], machine: str, *free: tuple[Any, Any]) -> dict[str, Any]:
    """A machine that is free only between these instants."""
    edges = [at(0, "00:00"), *(edge for span in free for edge in span), at(5, "06:00")]
    stops = [{"start": a, "end": b} for a, b in zip(edges[::2], edges[1::2], strict=True)]
    next(m for m in data["equipment"] if m["id"] == machine)["maintenance"] = stops
    return data


def spec_of(request: PlanRequest, task: str) -> TaskSpec:
    return next(spec for spec in explode(request).specs if spec.id == task)


@EFFORTS
def test_mix_is_frozen_within_the_life_of_its_base(effort: Any):
    """The hob is free on Wednesday and Friday, the churn on Saturday: without the life either day will do."""
    data = only(mixed(), "hob-1", (at(0, "06:00"), at(0, "12:00")), (at(2, "11:00"), at(2, "14:00")))
    plan = planned(tiny_request(only(data, "churn", (at(3, "06:00"), at(3, "12:00")))), effort)
    cooked, churned = plan.task("C1.cook").end, plan.task("B1.churn").start
    assert cooked > at(2, "11:00")
    # The hand-over takes 10 of the 1440 minutes.
    assert churned - cooked <= timedelta(minutes=DAY - 10)
    assert plan.task("B1.churn").closes == cooked + timedelta(minutes=DAY - 10)
    assert plan.task("B1.churn").closing_class == "safety"


@EFFORTS
def test_base_that_cannot_be_frozen_in_time_leaves_the_order_unmet(effort: Any):
    """The hob is free on Wednesday alone, the churn on Saturday alone: three days, and the base keeps for one."""
    data = only(mixed(), "hob-1", (at(0, "06:00"), at(0, "12:00")))
    only(data, "churn", (at(3, "06:00"), at(3, "12:00")))
    assert [outlook.met for outlook in planned(tiny_request(data), effort).outlooks] == [False]
    data["recipes"][0]["shelf_life"] = 4 * DAY
    assert [outlook.met for outlook in planned(tiny_request(data), effort).outlooks] == [True]


def test_plan_made_without_the_rule_is_found_by_the_check(monkeypatch: pytest.MonkeyPatch):
    data = only(mixed(), "hob-1", (at(0, "06:00"), at(0, "12:00")))
    request = tiny_request(only(data, "churn", (at(3, "06:00"), at(3, "12:00"))))
    monkeypatch.setattr(specs.Lives, "of_batch", lambda _self, _lot: {})
    answer = make_plan(request, effort="repair", seconds=1)
    assert answer.plan is None
    assert any("after the life of C1 ends" in says for says in answer.violations)


def test_freezing_pauses_and_without_it_the_life_counts_to_the_hand_over():
    request = tiny_request(mixed())
    assert [(life.lot, life.after, life.most) for life in spec_of(request, "B1.churn").lives] == [
        ("C1", "C1.cook", DAY - 10)
    ]
    assert spec_of(request, "SAT-STALL.B.hand-over").lives == ()
    soft = mixed(3 * DAY, frozen=False)
    soft["recipes"][1]["steps"][3]["frozen"] = False
    soft["recipes"][1]["shelf_life"] = 2 * DAY
    lives = spec_of(tiny_request(soft), "SAT-STALL.B.hand-over").lives
    # Handed over within 10 minutes of its start: by then both must keep.
    assert [(life.lot, life.after, life.most) for life in lives] == [
        ("C1", "C1.cook", 3 * DAY - 10),
        ("B1", "B1.churn", 2 * DAY - 10),
    ]
    assert spec_of(tiny_request(soft), "B1.churn").lives == ()


@EFFORTS
def test_soft_product_is_made_as_late_as_its_oldest_part_asks(effort: Any):
    soft = mixed(DAY, frozen=False)
    soft["recipes"][1]["steps"][3]["frozen"] = False
    request = tiny_request(soft)
    plan = planned(request, effort)
    hand_over, cooked = plan.task("SAT-STALL.B.hand-over"), plan.task("C1.cook").end
    assert hand_over.end - cooked <= timedelta(minutes=DAY)
    clocks = Clocks(plan, request.kitchen, lambda task: plan.task(task).end)
    assert clocks.use_by(plan.batches[0].lot) == cooked + timedelta(minutes=DAY)


def test_stock_goes_into_the_freezer_before_its_date():
    data = mixed()
    data["stock"] = [
        {
            "lot": "C9",
            "recipe": "custard-base",
            "quantity": "6 L",
            "made": at(-1, "12:00"),
            "use_by": at(1, "12:00"),
            "place": "fridge",
        }
    ]
    data["orders"][0]["due"] = at(1, "15:00")
    request = tiny_request(data)
    # Out of the freezer for the hand-over it needs 10 minutes of its life.
    assert [life.until for life in spec_of(request, "B1.churn").lives] == [at(1, "11:50")]
    plan = planned(request)
    assert [peg.lot for peg in plan.pegs if peg.batch == "B1"] == ["C9"]
    assert plan.task("B1.churn").start <= at(1, "11:50")
    late = only(mixed(), "churn", (at(1, "11:51"), at(1, "13:00")), (at(3, "06:00"), at(4, "06:00")))
    late["stock"], late["orders"][0]["due"] = data["stock"], at(3, "15:00")
    again = planned(tiny_request(late))
    assert [peg.lot for peg in again.pegs if peg.batch == "B1"] == ["C10"]


def test_base_that_is_too_old_to_be_frozen_in_time_is_made_again():
    data = only(mixed(), "churn", (at(3, "06:00"), at(3, "12:00")))
    request = tiny_request(data)
    first = planned(request)
    facts = (
        Actual(
            task="C1.cook",
            status="done",
            start=at(0, "08:00"),
            end=at(0, "08:40"),
            equipment="hob-1",
            crew=("early-cook",),
        ),
    )
    again = planned(request.model_copy(update={"now": at(0, "09:00"), "previous": first, "actuals": facts}))
    assert [peg.lot for peg in again.pegs if peg.batch == "B1"] == ["C2"]
    assert [outlook.late_min for outlook in again.outlooks] == [0]


@pytest.mark.parametrize("plan", [lambda p: solve(p, None, seconds=5, deterministic=True), first_guess])
@pytest.mark.parametrize(("latest", "late"), [(None, (0, 20)), (5, (10, 0))])
def test_latest_start_goes_before_what_is_worth_more(plan: Any, latest: int | None, late: tuple[int, int]):
    """One oven, 20 and 10 minutes; the first is worth more, but the second may start by 5 at the latest."""
    second = Job("b", 10, 10, machines=(0,), latest=latest)
    dues = (Due("A", (0,), 20, weight=9), Due("B", (1,), 10))
    problem = posed([work("a", 20, machines=(0,)), second], machines=(Machine("oven"),), dues=dues)
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    if latest is not None or plan is not first_guess:
        assert lateness(problem, schedule) == late
