"""Small kitchens made by chance: every plan passes the checker, and what goes in comes out."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchestrator.core.check import check
from orchestrator.core.models import Plan, PlanRequest, Stop
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import START, at, second_product, shifts, tiny_data, tiny_request


@st.composite
def kitchens(draw: st.DrawFn) -> dict[str, Any]:
    """Tiny kitchens with other capacities, crews, windows, lags, orders and stock."""
    data = tiny_data()
    data["recipes"].append(second_product())
    machines = {machine["id"]: machine for machine in data["equipment"]}
    machines["churn"]["capacity"] = f"{draw(st.sampled_from([3, 4.5, 6]))} L"
    machines["fridge"]["capacity"] = f"{draw(st.sampled_from([8, 12, 20]))} L"
    machines["freezer"]["capacity"] = f"{draw(st.sampled_from([9, 14, 30]))} L"
    window = draw(st.sampled_from(["safety", "quality", "preference"]))
    data["recipes"][0]["steps"][1]["stay"] = {
        "least": draw(st.sampled_from([0, 240, 720])),
        "most": draw(st.sampled_from([1440, 2880, 4320])),
        "window": window,
    }
    chill = {
        "id": "chill",
        "process": "chill",
        "title": "Chill the base",
        "equipment": "fridge",
        "load": "2 L",
        "duration": {"shortest": 20, "usual": 30, "longest": 60},
        "attended": [{"when": "start", "minutes": 5}, {"when": "end", "minutes": 5}],
        "skill": draw(st.sampled_from(["cook", "clean"])),
        "after": [{"step": "cook", "most": draw(st.sampled_from([0, 15, 120])), "window": "safety"}],
    }
    data["recipes"][0]["steps"].insert(1, chill)
    pause = draw(st.sampled_from([("10:00", "10:30"), ("08:15", "09:00"), None]))
    data["crew"][0]["shifts"] = shifts("06:00", draw(st.sampled_from(["11:00", "14:00", "18:00"])), pause=pause)
    data["orders"] = [draw(_orders(number)) for number in range(draw(st.integers(1, 3)))]
    if draw(st.booleans()):
        lot = {"lot": "B4", "recipe": "basil-custard", "quantity": "1.5 L", "made": at(-1, "12:00"), "place": "freezer"}
        data["stock"] = [lot]
    return data


@st.composite
def _orders(draw: st.DrawFn, number: int) -> dict[str, Any]:
    products = draw(
        st.lists(st.sampled_from(["basil-custard", "hazelnut-custard"]), min_size=1, max_size=2, unique=True)
    )
    due = at(draw(st.integers(1, 4)), draw(st.sampled_from(["09:30", "11:00", "16:00"])))
    lines = [{"product": product, "quantity": f"{draw(st.sampled_from([0.5, 2, 3.3, 5]))} L"} for product in products]
    return {"id": f"O{number}", "customer": f"Customer {number}", "lines": lines, "due": due}


def _planned(request: PlanRequest) -> Plan:
    answer = make_plan(request, effort="repair", seconds=1)
    assert answer.violations == ()
    assert answer.plan is not None
    assert check(answer.plan, request) == ()
    return answer.plan


def _balances(plan: Plan, request: PlanRequest) -> None:
    recipes = {recipe.id: recipe for recipe in request.kitchen.recipes}
    for batch in plan.batches:
        recipe = recipes[batch.recipe]
        lost = sum(step.loss.value for step in recipe.steps if step.loss)
        pegged = sum(peg.quantity.value for peg in plan.pegs if peg.lot == batch.lot)
        last = recipe.steps[-1] if recipe.makes == "component" else recipe.steps[-2]
        rests = [task.quantity for task in plan.tasks if task.id == f"{batch.lot}.{last.id}.rest"]
        rest = sum(quantity.value for quantity in rests if quantity is not None)
        assert recipe.yields.value * batch.scale == pytest.approx(pegged + rest + lost, abs=1e-4)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(kitchens())
def test_make_plan_of_any_kitchen_passes_and_balances(data: dict[str, Any]) -> None:
    request = tiny_request(data)
    _balances(_planned(request), request)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(kitchens(), st.sampled_from(["churn", "fridge", "hob-1"]), st.integers(0, 70), st.integers(1, 12))
def test_make_plan_again_after_a_stop_of_any_machine_passes(
    data: dict[str, Any], machine: str, hours: int, length: int
) -> None:
    request = tiny_request(data)
    first = _planned(request)
    begin = START + timedelta(hours=hours)
    stop = Stop(equipment=machine, start=begin, end=begin + timedelta(hours=length))
    again = request.model_copy(update={"previous": first, "stops": (stop,)})
    _balances(_planned(again), again)
