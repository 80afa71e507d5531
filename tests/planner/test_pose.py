"""What has happened and what is held, as jobs of a problem: by hand, on the small kitchen with its plan.

Wednesday 06:00 is minute 0, 09:00 on Thursday minute 1620. There is nothing to cite: each figure is counted by hand.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

import pytest

from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import Actual, Plan, PlanRequest, TaskLink, Upkeep, WindowClass
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.pose import pose
from orchestrator.planner.posing import _passed
from orchestrator.planner.problem import CleanDown, Fixed, Job, Precedence, Problem
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan
from tests.planner.problems import joined, work
from tests.planner.problems import posed as problem_of

DONE_BY_NOON = ("C1.cook", "C1.chill", "S1.simmer", "S1.chill")
COOK, CHURN, FRIDGE = 0, 3, 2
"""By position: the early cook among people, churn and fridge among machines."""


def with_tasks(plan: Plan, **changes: dict[str, Any]) -> Plan:
    """A plan with some of its tasks changed; names with ``__`` for the point."""
    told = {name.replace("__", "."): change for name, change in changes.items()}
    tasks = tuple(task.model_copy(update=told.get(task.id, {})) for task in plan.tasks)
    return plan.model_copy(update={"tasks": tasks})


def as_planned(plan: Plan, tasks: Iterable[str], **changes: Any) -> tuple[Actual, ...]:
    """Done where and when they were planned."""
    found = (plan.task(TaskId(name)) for name in tasks)
    facts = {"status": "done", **changes}
    return tuple(
        Actual.model_validate({"task": t.id, "start": t.start, "end": t.end, "equipment": t.equipment, **facts})
        for t in found
    )


def posed(
    now: datetime, plan: Plan | None = None, actuals: tuple[Actual, ...] = (), **rest: Any
) -> tuple[Demand, Problem]:
    request = PlanRequest(kitchen=small_kitchen(), now=now, previous=plan or small_plan(), actuals=actuals, **rest)
    demand = explode(request)
    return demand, pose(request, demand)


def jobs(posed: tuple[Demand, Problem]) -> dict[str, Job]:
    demand, problem = posed
    return {str(spec.id): job for spec, job in zip(demand.specs, problem.jobs, strict=True)}


HELD = with_tasks(small_plan(), B1__churn={"held_in_place": True})


@pytest.mark.parametrize(
    ("now", "held"), [("Wed 06:00", True), ("Thu 08:59", True), ("Thu 09:00", True), ("Thu 09:01", False)]
)
def test_task_that_is_held_stays_on_its_minute_its_machine_and_its_people_until_it_has_passed(
    now: str, held: bool
) -> None:
    found = jobs(posed(at(now), HELD, as_planned(HELD, DONE_BY_NOON)))["B1.churn"].fixed
    assert found == (Fixed(1620, 1650, CHURN, (COOK,)) if held else None)


def test_task_that_nobody_holds_and_a_stay_may_be_moved() -> None:
    plan = with_tasks(small_plan(), C1__age__B1={"held_in_place": True})
    found = jobs(posed(at("Wed 06:00"), plan))
    assert (found["B1.churn"].fixed, found["C1.age.B1"].fixed) == (None, None)


def test_task_that_is_held_without_hands_and_without_a_machine_is_held_on_its_minutes() -> None:
    plan = with_tasks(small_plan(), B1__churn={"held_in_place": True, "spans": (), "equipment": None})
    assert jobs(posed(at("Wed 06:00"), plan))["B1.churn"].fixed == Fixed(1620, 1650, None, ())


def test_stay_that_is_filled_has_begun_where_it_was_planned_and_one_that_is_not_may_be_moved() -> None:
    plan = small_plan()
    cooled, warm = as_planned(plan, DONE_BY_NOON), as_planned(plan, DONE_BY_NOON[:1])
    assert jobs(posed(at("Wed 12:30"), plan, cooled))["C1.age.B1"].fixed == Fixed(255, None, FRIDGE)
    assert jobs(posed(at("Wed 12:30"), plan, warm))["C1.age.B1"].fixed is None
    cooling = (*warm, *as_planned(plan, DONE_BY_NOON[1:2], status="in hand"))
    assert jobs(posed(at("Wed 10:00"), plan, cooling))["C1.age.B1"].fixed is None


def test_stay_whose_filling_was_skipped_is_filled_all_the_same() -> None:
    plan = small_plan()
    facts = (*as_planned(plan, DONE_BY_NOON[:1]), *as_planned(plan, DONE_BY_NOON[1:2], status="skipped"))
    assert jobs(posed(at("Wed 12:30"), plan, facts))["C1.age.B1"].fixed == Fixed(255, None, FRIDGE)


def test_stay_in_hand_has_no_end_and_work_in_hand_ends_now_at_the_soonest() -> None:
    plan = small_plan()
    facts = as_planned(plan, DONE_BY_NOON)
    stay = as_planned(plan, ["C1.age.B1"], status="in hand")
    churning = as_planned(plan, ["B1.churn"], status="in hand", crew=("late-cook", "gone-cook"))
    found = jobs(posed(at("Thu 09:40"), plan, (*facts, *stay, *churning)))
    assert found["C1.age.B1"].fixed == Fixed(255, None, FRIDGE)
    assert found["B1.churn"].fixed == Fixed(1620, 1660, CHURN, (1,), begun=True)
    assert jobs(posed(at("Thu 09:10"), plan, (*facts, *churning)))["B1.churn"].fixed == Fixed(
        1620, 1650, CHURN, (1,), begun=True
    )


def number(demand: Demand, task: str) -> int:
    return next(n for n, spec in enumerate(demand.specs) if spec.id == task)


def test_clean_that_is_planned_is_handed_on_for_the_run_it_prepares_while_that_can_move() -> None:
    plan = small_plan()
    demand, problem = posed(at("Wed 06:00"), plan)
    clean = CleanDown(CHURN, number(demand, "S1.churn"), "full", 1655, 1675, (COOK,))
    assert problem.cleans_before == (clean,)
    churned = as_planned(plan, (*DONE_BY_NOON, "B1.churn", "S1.churn"))
    assert posed(at("Thu 12:00"), plan, churned)[1].cleans_before == ()
    done = as_planned(plan, (*DONE_BY_NOON, "B1.churn", "churn.clean.S1"))
    assert posed(at("Thu 09:56"), plan, done)[1].cleans_before == ()


def test_clean_without_a_known_machine_is_handed_on_for_nothing() -> None:
    plan = with_tasks(small_plan(), churn__clean__S1={"equipment": EquipmentId("sold-churn")})
    assert posed(at("Wed 06:00"), plan)[1].cleans_before == ()


def test_clean_for_the_night_is_handed_on_for_the_run_that_it_follows() -> None:
    link = (TaskLink(after=TaskId("B1.churn")), TaskLink(after=TaskId("C1.cook")), TaskLink(after=TaskId("X9.churn")))
    plan = with_tasks(small_plan(), churn__clean__S1={"upkeep": Upkeep.DAY_END, "lot": None, "links": link})
    demand, problem = posed(at("Wed 06:00"), plan)
    assert problem.cleans_before == (CleanDown(CHURN, number(demand, "B1.churn"), "day-end", 1655, 1675, (COOK,)),)


@pytest.mark.parametrize(
    ("late", "lots"),
    [(timedelta(0), set()), (timedelta(minutes=1), {"C1"})],
)
def test_lot_has_passed_from_the_minute_after_its_safety_window_on(late: timedelta, lots: set[str]) -> None:
    """The base may age for 72 h: it stands in the fridge since Wednesday 10:15, and is churned by Saturday 10:15."""
    plan = small_plan()
    demand, problem = posed(at("Sat 10:15") + late, plan, as_planned(plan, DONE_BY_NOON[:2]))
    assert _passed(demand, problem) == lots


def test_lot_that_was_used_in_time_has_not_passed_and_a_window_of_quality_lets_none_pass() -> None:
    plan = small_plan()
    used = as_planned(plan, (*DONE_BY_NOON, "B1.churn"))
    # Sorbet S1 is churned by Friday 12:00, a window of quality: late, but no reason to throw it away.
    assert _passed(*posed(at("Sat 18:00"), plan, used)) == set()


@pytest.mark.parametrize(("ends", "lots"), [(70, set()), (71, {LotCode("C1")})])
def test_lot_that_waits_for_other_work_in_hand_has_passed_where_that_ends_too_late(
    ends: int, lots: set[LotCode]
) -> None:
    """In the fridge since minute 10, for 60 minutes at most; what takes of it waits for 50 minutes of work in hand."""
    jobs = (
        work("fill", 10, fixed=Fixed(0, 10, None, begun=True)),
        Job("keep", 0, 60, stay=True, stay_window=WindowClass.SAFETY, fixed=Fixed(10, None, None), after=joined(0)),
        work("other", ends - 20, fixed=Fixed(20, ends, None, begun=True)),
        work("use", 10, after=(*joined(1), Precedence(2))),
    )
    base = small_plan().task(TaskId("C1.cook"))
    assert _passed(Demand((), (), (base,) * len(jobs)), problem_of(jobs, now=30)) == lots


@pytest.mark.parametrize(("place", "machine"), [("freezer", 4), ("fridge", FRIDGE), (None, None)])
def test_stock_on_hand_stands_where_the_kitchen_says_from_the_first_minute_on(
    place: str | None, machine: int | None
) -> None:
    lot = {"lot": "B90", "recipe": "basil-custard", "quantity": "2 L", "made": at("Wed 05:00"), "place": place}
    request = PlanRequest(kitchen=small_kitchen(stock=[lot]), now=at("Wed 08:00"))
    demand = explode(request)
    found = {spec.lot: job.fixed for spec, job in zip(demand.specs, pose(request, demand).jobs, strict=True)}
    assert found[LotCode("B90")] == Fixed(0, None, machine)
