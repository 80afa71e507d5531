"""A plan and a kitchen, looked up by id."""

from datetime import timedelta

from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import Plan
from orchestrator.core.plan_index import kitchen_index, plan_index
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan


def test_plan_index_of_the_same_plan_is_built_once() -> None:
    plan = small_plan()
    assert plan_index(plan) is plan_index(plan)
    assert plan_index(plan) is not plan_index(small_plan())


def test_plan_index_puts_every_task_behind_what_it_waits_for() -> None:
    index = plan_index(small_plan())
    place = {task: n for n, task in enumerate(index.order)}
    assert len(place) == len(index.tasks)
    for task in index.tasks.values():
        assert all(place[link.after] < place[task.id] for link in task.links)


def test_plan_index_follows_pegs_to_the_orders() -> None:
    index = plan_index(small_plan())
    assert dict(index.lot_orders) == {
        LotCode("C1"): ("SAT-STALL",),
        LotCode("B1"): ("SAT-STALL",),
        LotCode("S1"): ("SUN-CAFE",),
    }
    assert index.orders_of(index.tasks[TaskId("C1.age.B1")]) == ("SAT-STALL",)
    assert index.orders_of(index.tasks[TaskId("SUN-CAFE.S.temper")]) == ("SUN-CAFE",)


def test_plan_index_knows_what_fills_and_what_ends_a_stay() -> None:
    index = plan_index(small_plan())
    stay = index.tasks[TaskId("C1.age.B1")]
    filler = index.filler(stay)
    assert filler is not None
    assert filler.id == "C1.chill"
    assert [t.id for t in index.takers(stay.id)] == ["B1.churn"]
    assert index.joined_stays(index.tasks[TaskId("B1.churn")]) == [stay]


def test_plan_index_remembers_by_how_much_the_plan_is_openly_too_early() -> None:
    named = {"task": "B1.churn", "after": "C1.age.B1", "window": "quality", "minutes": 90, "side": "too early"}
    plan = Plan.model_validate({**small_plan().model_dump(), "breaks": [{**named, "reason": ""}]})
    pair = frozenset({TaskId("B1.churn"), TaskId("C1.age.B1")})
    assert dict(plan_index(plan).early) == {pair: timedelta(minutes=90)}


def test_kitchen_index_gives_working_hours_without_breaks() -> None:
    hours = kitchen_index(small_kitchen()).hours["stove"]
    assert hours[:3] == (
        (at("Wed 06:00"), at("Wed 12:30")),
        (at("Wed 13:00"), at("Wed 14:00")),
        (at("Wed 13:00"), at("Wed 21:00")),
    )
