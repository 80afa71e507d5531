"""Ids to positions and instants to minutes, by hand: what is rounded which way, and what a machine takes."""

from datetime import timedelta
from math import inf
from typing import Any

import pytest

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Actual, Plan, PlanRequest
from orchestrator.core.quantities import Quantity
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


@pytest.mark.parametrize(
    ("moved", "where"),
    [("freezer-2", "freezer-2"), (None, "freezer")],
)
def test_new_share_of_a_lot_stands_where_the_rest_of_it_was_carried_to(moved: str | None, where: str) -> None:
    """Friday noon: custard B1 hardens for the stall; an order that came since has some of it."""
    freezer = next(machine for machine in EQUIPMENT if machine["id"] == "freezer")
    orders = [
        {
            "id": name,
            "customer": name,
            "due": at("Sat 11:00"),
            "lines": [{"product": "basil-custard", "quantity": "2 L"}],
        }
        for name in ("SAT-STALL", "SAT-NEW")
    ]
    kitchen = small_kitchen(orders=orders, equipment=[freezer | {"id": "freezer-2"}, *EQUIPMENT])
    plan = small_plan()
    kept = tuple(task for task in plan.tasks if task.lot in ("C1", "B1") or task.order == "SAT-STALL")
    over = [t for t in kept if t.end <= at("Thu 09:30")]
    done = [Actual(task=t.id, status="done", start=t.start, end=t.end, equipment=t.equipment) for t in over]
    hardens = plan.task(TaskId("B1.harden.SAT-STALL"))
    place = EquipmentId(moved) if moved is not None else None
    in_hand = Actual(task=hardens.id, status="in hand", start=hardens.start, end=hardens.end, equipment=place)
    two = Quantity.model_validate("2 L")
    pegs = tuple(p.model_copy(update={"quantity": two}) if p.order == "SAT-STALL" else p for p in plan.pegs)
    previous = plan.model_copy(update={"tasks": kept, "pegs": pegs})
    request = PlanRequest(
        kitchen=kitchen, now=at("Fri 12:00"), previous=previous, actuals=(*done, *([in_hand] if moved else []))
    )
    demand = explode(request)
    jobs = {spec.id: job for spec, job in zip(demand.specs, pose(request, demand).jobs, strict=True)}
    fixed = jobs[TaskId("B1.harden.SAT-NEW")].fixed
    assert fixed is not None
    assert fixed.machine is not None
    assert (kitchen.equipment[fixed.machine].id, fixed.start, fixed.end) == (where, 1650, None)
