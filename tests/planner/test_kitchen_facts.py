"""What is kept between questions is found by content: a kept answer is the answer that would be worked out anew."""

import random
from collections.abc import Callable
from datetime import timedelta

import pytest

from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.kitchen_facts import facts_of, forget
from orchestrator.planner.plan import make_plan
from orchestrator.planner.pose import pose
from tests.benchmarks.kitchens import example_request, larger_request
from tests.fakes.drift import later

Change = Callable[[Kitchen], Kitchen]


def anew(request: PlanRequest) -> Demand:
    forget()
    return explode(request)


def read_again(request: PlanRequest) -> PlanRequest:
    """As it reaches the planner's process: equal, and no object of it the same."""
    return PlanRequest.model_validate_json(request.model_dump_json())


def test_states_that_follow_each_other_get_the_tasks_that_they_would_get_by_themselves() -> None:
    chance, state = random.Random(5), larger_request()
    plan = make_plan(state, effort="repair", seconds=1.0, deterministic=True).plan
    states = [state]
    for _ in range(6):
        assert plan is not None
        state = later(state, plan, state.now + timedelta(hours=7), chance)
        states.append(state)
        plan = make_plan(state, effort="repair", seconds=1.0, deterministic=True).plan
    expected = [anew(one) for one in states]

    forget()
    for again in range(2):
        for one, demand in zip(states, expected, strict=True):
            kept = explode(read_again(one) if again else one)
            assert kept == demand
            assert pose(one, kept) == pose(one, demand)


def test_the_same_kitchen_read_again_is_found_by_its_content() -> None:
    forget()
    request = example_request()
    first, then = explode(request), explode(read_again(request))

    assert facts_of(request.kitchen) is facts_of(read_again(request).kitchen)
    assert all(one is other for one, other in zip(first.specs, then.specs, strict=True) if one.order is not None)
    assert any(one is other for one, other in zip(first.specs, then.specs, strict=True) if one.lot is not None)


def longer_step(kitchen: Kitchen) -> Kitchen:
    number, recipe = next((n, r) for n, r in enumerate(kitchen.recipes) if any(s.duration for s in r.steps))
    steps = [
        step.model_copy(update={"duration": step.duration.model_copy(update={"usual": step.duration.usual + 1})})
        if step.duration is not None
        else step
        for step in recipe.steps
    ]
    changed = recipe.model_copy(update={"steps": tuple(steps)})
    recipes = (*kitchen.recipes[:number], changed, *kitchen.recipes[number + 1 :])
    return kitchen.model_copy(update={"recipes": recipes})


def other_station(kitchen: Kitchen) -> Kitchen:
    stations = [station.id for station in kitchen.stations]
    moved = [m.model_copy(update={"station": stations[stations.index(m.station) - 1]}) for m in kitchen.equipment]
    return kitchen.model_copy(update={"equipment": tuple(moved)})


def nobody_skilled(kitchen: Kitchen) -> Kitchen:
    return kitchen.model_copy(update={"crew": tuple(m.model_copy(update={"skills": ()}) for m in kitchen.crew)})


def no_churn(kitchen: Kitchen) -> Kitchen:
    return kitchen.model_copy(update={"equipment": tuple(m for m in kitchen.equipment if m.kind != "churn")})


def two_days(kitchen: Kitchen) -> Kitchen:
    return kitchen.model_copy(update={"horizon_days": 2})


def another_customer(kitchen: Kitchen) -> Kitchen:
    first, *others = kitchen.orders
    return kitchen.model_copy(update={"orders": (first.model_copy(update={"customer": "Somebody else"}), *others)})


def more_wanted(kitchen: Kitchen) -> Kitchen:
    first, *others = kitchen.orders
    lines = tuple(line.model_copy(update={"quantity": line.quantity.times(0.5)}) for line in first.lines)
    return kitchen.model_copy(update={"orders": (first.model_copy(update={"lines": lines}), *others)})


@pytest.mark.parametrize(
    "change", [longer_step, other_station, nobody_skilled, no_churn, two_days, another_customer, more_wanted]
)
def test_kitchen_that_differs_in_one_thing_gets_tasks_of_its_own(change: Change) -> None:
    request = example_request()
    other = request.model_copy(update={"kitchen": change(request.kitchen)})
    expected, before = anew(other), anew(request)

    forget()
    assert explode(request) == before
    assert explode(other) == expected
    assert expected != before


def test_batches_with_other_lots_in_them_get_tasks_of_their_own() -> None:
    request = larger_request()
    plan = make_plan(request, effort="repair", seconds=1.0, deterministic=True).plan
    assert plan is not None
    going_on = request.model_copy(update={"previous": plan, "now": request.now + timedelta(hours=1)})
    taken = sorted({peg.lot for peg in plan.pegs if peg.batch is not None})
    lost = [going_on.model_copy(update={"lost_lots": (lot,)}) for lot in taken]
    expected = [anew(one) for one in (going_on, *lost)]

    forget()
    assert [explode(one) for one in (going_on, *lost)] == expected
    assert len(lost) > 1
