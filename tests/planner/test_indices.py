"""Ids to positions and instants to minutes, by hand: what is rounded which way, and what a machine takes."""

from datetime import timedelta
from math import inf
from typing import Any

import pytest

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.planner.demand import explode
from orchestrator.planner.indices import Indices, ceil_min, floor_min, hundredths
from orchestrator.planner.pose import pose
from tests.fakes.kitchens import EQUIPMENT, at, small_kitchen
from tests.fakes.plans import small_plan

START = at("Wed 06:00")


def indices(previous: Plan | None = None, **changes: Any) -> Indices:
    request = PlanRequest(kitchen=small_kitchen(**changes), now=START, previous=previous)
    return Indices(request, explode(request))


@pytest.mark.parametrize(("seconds", "down", "up"), [(0, 0, 0), (1, 0, 1), (59, 0, 1), (60, 1, 1), (-1, -1, 0)])
def test_part_of_a_minute_is_rounded_to_the_side_that_is_asked_for(seconds: int, down: int, up: int) -> None:
    instant = START + timedelta(seconds=seconds)
    assert (floor_min(START, instant), ceil_min(START, instant)) == (down, up)


@pytest.mark.parametrize(("load", "counted"), [(0.07, 7), (2.5, 250), (2.501, 251), (0.0, 0), (1.1, 110)])
def test_load_is_rounded_up_but_for_the_hair_of_binary_fractions(load: float, counted: int) -> None:
    assert hundredths(load) == counted


def test_machines_of_a_kind_say_the_least_and_the_most_that_they_take() -> None:
    churn = next(machine for machine in EQUIPMENT if machine["id"] == "churn")
    small = churn | {"id": "churn-2", "least": "1 L", "capacity": "3 L"}
    any_size = churn | {"id": "churn-3", "least": None, "capacity": None}
    # What stands in a shared place comes and goes: no least is asked of it.
    shared = churn | {"id": "churn-4", "least": "2 L", "shared": True, "cleaning": None}
    others = [machine for machine in EQUIPMENT if machine["id"] != "churn"]
    found = indices(equipment=[churn, *others, small, any_size, shared]).of_kind["churn"]
    assert found == [(0, 2.0, 6.0), (6, 1.0, 3.0), (7, 0.0, inf), (8, 0.0, 6.0)]


def test_before_a_first_plan_nothing_stood_anywhere_and_after_it_every_task_did() -> None:
    assert indices().previous == {}
    plan = small_plan()
    assert indices(plan).previous == {task.id: task for task in plan.tasks}


def test_task_keeps_its_place_by_the_plan_before_and_a_new_one_has_none() -> None:
    plan = small_plan()
    request = PlanRequest(kitchen=small_kitchen(), now=START, previous=plan)
    demand = explode(request)
    places = dict(zip([spec.id for spec in demand.specs], pose(request, demand).previous, strict=True))
    churned = places[TaskId("B1.churn")]
    assert churned is not None
    # Thursday 09:00 is 27 hours after Wednesday 06:00; the churn is the fourth machine, the early cook the first hand.
    assert (churned.start, churned.end, churned.machine, churned.workers) == (1620, 1650, 3, ((0,),))
    first = PlanRequest(kitchen=small_kitchen(), now=START)
    assert all(place is None for place in pose(first, explode(first)).previous)


def test_hands_who_have_left_and_machines_that_are_gone_are_no_place() -> None:
    task = small_plan().task(TaskId("B1.churn"))
    stranger = tuple(span.model_copy(update={"crew": ("gone-cook", *span.crew)}) for span in task.spans)
    moved = task.model_copy(update={"spans": stranger, "equipment": EquipmentId("sold-churn")})
    place = indices().place(moved)
    assert (place.machine, place.workers) == (None, ((0,),))


def test_skill_names_who_has_it_and_none_names_everybody() -> None:
    found = indices()
    assert [found.skilled(skill) for skill in ("churn", "counter", "juggling", None)] == [
        (0, 1),
        (2,),
        (),
        (0, 1, 2, 3),
    ]


def test_last_work_of_an_order_is_what_nothing_of_it_follows() -> None:
    assert indices().last == {"SAT-STALL.B.hand-over", "SUN-CAFE.S.hand-over"}
