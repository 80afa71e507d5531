"""Why not earlier, why not later: an answer for every task of the example, each proved by the checker or a re-score."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import product
from pathlib import Path

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import OrderId, TaskId
from orchestrator.core.models import Outlook, Plan, PlannedTask, PlanRequest, Stop, TaskKind
from orchestrator.core.models.explanation import Hold, HoldKind, WhyNot
from orchestrator.core.models.questions import WhyAnswer
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.problem import Schedule
from orchestrator.planner.score import score, terms
from orchestrator.planner.shift import Movers, moved
from orchestrator.planner.why import why
from orchestrator.planner.why_posed import posed_plan
from tests.fakes.tiny import at, second_product, tiny_data, tiny_request
from tests.planner.planned import planned

CONFIG = Path(__file__).parents[2] / "config"
MINUTE = timedelta(minutes=1)

BREAKS = {
    HoldKind.NOW: {"present"},
    HoldKind.FOLLOWS: {"order", "join", "double booked", "quality window", "safety window", "clean-down"},
    HoldKind.WINDOW: {"quality window", "safety window", "use by", "shelf life"},
    HoldKind.RELEASE: {"outlook", "supplies"},
    HoldKind.MACHINE: {"double booked", "capacity"},
    HoldKind.STOPPED: {"stopped"},
    HoldKind.CLEAN: {"double booked", "clean-down", "order"},
    HoldKind.PERSON: {"two things at once"},
    HoldKind.SHIFT: {"shift", "break"},
    HoldKind.STORE: {"capacity"},
    HoldKind.HEAT: {"heat"},
}
"""The rules of the checker of which each kind of hold must break one."""
COULD_BE = (HoldKind.GOAL, HoldKind.DUE, HoldKind.FREE)


@pytest.fixture(scope="module")
def example() -> tuple[PlanRequest, Plan]:
    kitchen = read_kitchen(CONFIG)
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    return request, planned(request)


# A move by hand: it shares nothing with the planner


def shifted(plan: Plan, tasks: set[TaskId], by: timedelta, request: PlanRequest) -> Plan:
    """The plan with tasks moved, stays between their neighbours, and outlooks as they are then."""
    after = {t.id: _shifted(t, by) if t.id in tasks else t for t in plan.tasks}
    for stay in (t for t in plan.tasks if t.kind is TaskKind.STAY and t.links):
        takers = [t for t in after.values() if any(k.after == stay.id and k.most == 0 for k in t.links)]
        start = max(after[k.after].end for k in stay.links)
        end = min((t.start for t in takers), default=stay.end)
        after[stay.id] = stay.model_copy(update={"start": start, "end": end})
    for stay in (t for t in plan.tasks if t.kind is TaskKind.STAY and not t.links):
        takers = [t for t in after.values() if any(k.after == stay.id and k.most == 0 for k in t.links)]
        after[stay.id] = stay.model_copy(update={"end": min((t.start for t in takers), default=stay.end)})
    due = {order.id: order.due for order in request.kitchen.orders}
    outlooks = tuple(_outlook(o, max(t.end for t in after.values() if t.order == o.order), due) for o in plan.outlooks)
    return plan.model_copy(update={"tasks": tuple(after.values()), "outlooks": outlooks})


def _shifted(task: PlannedTask, by: timedelta) -> PlannedTask:
    spans = tuple(s.model_copy(update={"start": s.start + by, "end": s.end + by}) for s in task.spans)
    return task.model_copy(update={"start": task.start + by, "end": task.end + by, "spans": spans})


def _outlook(outlook: Outlook, ready: datetime, due: dict[OrderId, datetime]) -> Outlook:
    off = int((ready - due[outlook.order]).total_seconds() // 60)
    return outlook.model_copy(update={"ready_at": ready, "late_min": max(0, off), "margin_min": max(0, -off)})


def with_other_hands(plan: Plan, tasks: set[TaskId], request: PlanRequest) -> Iterator[Plan]:
    """The plan with the moved tasks done by anybody who has the skill."""
    yield plan
    for task in (t for t in plan.tasks if t.id in tasks and t.spans):
        able = [m.id for m in request.kitchen.crew if task.skill is None or task.skill in m.skills]
        for chosen in product(able, repeat=len(task.spans)):
            spans = tuple(s.model_copy(update={"crew": (who,)}) for s, who in zip(task.spans, chosen, strict=True))
            other = task.model_copy(update={"spans": spans})
            yield plan.model_copy(update={"tasks": tuple(other if t.id == task.id else t for t in plan.tasks)})


def prove(request: PlanRequest, plan: Plan, task: TaskId, side: WhyNot, by: timedelta) -> None:
    """Every reason given for a task holds, by the checker or by a re-score of the plan with it moved."""
    assert side.holds
    for holds, movers in ((side.holds, {task}), (side.together, {task, *side.along})):
        if holds:
            broken = {v.rule for v in check(shifted(plan, movers, by, request), request)}
            for hold in holds:
                assert proved(request, plan, hold, movers, by, broken), (task, hold, broken)


def proved(request: PlanRequest, plan: Plan, hold: Hold, movers: set[TaskId], by: timedelta, broken: set[str]) -> bool:
    if plan.task(min(movers)).kind is TaskKind.STAY and len(movers) == 1:
        return not hold.tasks or all(plan.task(name) is not None for name in hold.tasks)
    if hold.kind is HoldKind.RULE:
        return hold.goal in broken
    if hold.kind not in COULD_BE:
        return bool(BREAKS[hold.kind] & broken)
    could = (check(p, request) for p in with_other_hands(shifted(plan, movers, by, request), movers, request))
    return any(not violations for violations in could) and scored(request, plan, hold, movers, by)


def scored(request: PlanRequest, plan: Plan, hold: Hold, movers: set[TaskId], by: timedelta) -> bool:
    """The goal named grows by what is said, and the plan as a whole is worse; or it is not, where nothing is named."""
    posed = posed_plan(request, plan)
    problem, before = posed.problem, posed.schedule
    jobs = frozenset(i for i, spec in enumerate(posed.demand.specs) if spec.id in movers)
    instead = [i for i, member in enumerate(request.kitchen.crew) if member.id in hold.crew]
    for after in rehanded(moved(problem, before, Movers(jobs), round(by / MINUTE)), jobs, instead):
        worse = score(problem, after) > score(problem, before)
        values = [{name: value for name, _, value in terms(problem, s)} for s in (before, after)]
        if hold.kind is HoldKind.FREE:
            found = not worse
        else:
            found = worse and values[1][hold.goal] - values[0][hold.goal] == hold.by > 0
        if found:
            return True
    return False


def rehanded(schedule: Schedule, jobs: frozenset[int], instead: list[int]) -> Iterator[Schedule]:
    """The schedule, with the people named at any portions of the moved work; as it is where none are named."""
    portions = [(job, k) for job in sorted(jobs) for k in range(len(schedule.places[job].workers))]  # type: ignore[union-attr]
    for chosen in product([None, *instead], repeat=len(portions)):
        places = list(schedule.places)
        for (job, portion), worker in zip(portions, chosen, strict=True):
            place = places[job]
            if worker is not None and place is not None:
                workers = tuple((worker,) if k == portion else who for k, who in enumerate(place.workers))
                places[job] = replace(place, workers=workers)
        yield replace(schedule, places=tuple(places))


def test_why_answers_for_every_task_of_the_example_and_each_reason_is_proved(
    example: tuple[PlanRequest, Plan],
) -> None:
    request, plan = example
    assert len(plan.tasks) > 80
    for task in plan.tasks:
        answer = why(request, plan, task.id)
        assert answer.task == task.id
        prove(request, plan, task.id, answer.earlier, -MINUTE)
        prove(request, plan, task.id, answer.later, MINUTE)


# By hand: cook 40 min, age 12 h, churn 20 min, harden 4 h, hand over 10 min; early cook 06:00 to 14:00


def tiny_plan(data: dict[str, object] | None = None, **told: object) -> tuple[PlanRequest, Plan]:
    request = tiny_request(data, **told)  # type: ignore[arg-type]
    return request, planned(request)


def asked(request: PlanRequest, plan: Plan, task: str) -> WhyAnswer:
    return why(request, plan, TaskId(task))


def kinds(side: WhyNot) -> list[HoldKind]:
    return [hold.kind for hold in side.holds]


def placed_at(plan: Plan, task: str, start: datetime) -> Plan:
    """The plan with one task and its hands begun at another instant."""
    return shifted(plan, {TaskId(task)}, start - plan.task(TaskId(task)).start, tiny_request())


def test_why_not_earlier_names_the_shift_that_has_not_begun() -> None:
    request, plan = tiny_plan()
    plan = placed_at(plan, "B1.churn", at(2, "06:00"))
    hold = asked(request, plan, "B1.churn").earlier.holds[0]
    assert (hold.kind, hold.says) == (
        HoldKind.SHIFT,
        "Early cook is not at work before Fri 27 Nov 06:00, nor is anybody else with the skill churn",
    )


def test_why_not_earlier_names_the_present_and_the_shift_at_the_first_minute() -> None:
    request, plan = tiny_plan()
    plan = placed_at(plan, "C1.cook", at(0, "06:00"))
    assert kinds(asked(request, plan, "C1.cook").earlier) == [HoldKind.NOW, HoldKind.SHIFT]


def test_why_not_earlier_names_the_least_of_a_stay_and_what_moves_along() -> None:
    data = tiny_data()
    data["recipes"][0]["steps"][1]["stay"]["least"] = 60
    request, plan = tiny_plan(data)
    plan = placed_at(placed_at(plan, "C1.cook", at(0, "08:00")), "B1.churn", at(0, "09:40"))
    side = asked(request, plan, "B1.churn").earlier
    assert (kinds(side), side.along) == ([HoldKind.WINDOW], ("C1.cook",))
    assert side.holds[0].says == "'Age the base' (C1) lasts no less than 60 min from Wed 25 Nov 08:40 (quality window)"


def test_why_not_earlier_names_the_machine_that_is_stopped() -> None:
    stop = Stop(equipment="churn", start=at(1, "06:00"), end=at(2, "08:00"))
    request, plan = tiny_plan(stops=(stop,))
    plan = placed_at(plan, "B1.churn", at(2, "08:00"))
    hold = asked(request, plan, "B1.churn").earlier.holds[0]
    assert (hold.kind, hold.equipment) == (HoldKind.STOPPED, "churn")
    assert hold.says == "the Churn is stopped from Thu 26 Nov 06:00 to Fri 27 Nov 08:00"


def test_why_not_later_names_the_order_that_would_be_late() -> None:
    request, plan = tiny_plan()
    plan = placed_at(plan, "SAT-STALL.B.hand-over", at(3, "10:50"))
    hold = asked(request, plan, "SAT-STALL.B.hand-over").later.holds[0]
    assert (hold.kind, hold.goal, hold.by) == (HoldKind.DUE, "weighted minutes late", 1.0)


def test_why_names_the_run_before_on_the_same_machine_and_its_clean_down() -> None:
    data = tiny_data()
    data["recipes"].append(second_product())
    data["orders"][0]["lines"].append({"product": "hazelnut-custard", "quantity": "4 L"})
    request, plan = tiny_plan(data)
    churns = sorted((t for t in plan.tasks if t.step == "churn"), key=lambda t: t.start)
    clean = next(t for t in plan.tasks if t.kind is TaskKind.CLEAN)
    side = asked(request, plan, churns[1].id).earlier
    assert churns[1].start == clean.end
    assert HoldKind.CLEAN in kinds(side)
    prove(request, plan, clean.id, asked(request, plan, clean.id).earlier, -MINUTE)
    prove(request, plan, clean.id, asked(request, plan, clean.id).later, MINUTE)


def test_why_of_a_stay_names_what_fills_and_what_takes_it() -> None:
    request, plan = tiny_plan()
    side = asked(request, plan, "C1.age.B1").later
    assert (kinds(side), side.holds[0].tasks) == ([HoldKind.FOLLOWS], ("C1.cook", "B1.churn"))


def test_why_of_a_task_held_in_place_says_so() -> None:
    request, plan = tiny_plan()
    held = tuple(t.model_copy(update={"held_in_place": t.id == "B1.churn"}) for t in plan.tasks)
    side = asked(request, plan.model_copy(update={"tasks": held}), "B1.churn").earlier
    assert [(hold.kind, hold.says) for hold in side.holds] == [(HoldKind.HELD, "it is held in place")]


def test_why_of_an_unknown_task_is_a_key_error() -> None:
    request, plan = tiny_plan()
    with pytest.raises(KeyError):
        asked(request, plan, "B9.churn")
