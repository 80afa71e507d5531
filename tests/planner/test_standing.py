"""A plan that still holds comes back as it is; a disturbed one moves only what the disturbance touches."""

from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.cli.example import example_kitchen
from orchestrator.core.check import check
from orchestrator.core.ids import OrderId
from orchestrator.core.models import Break, CrewMember, Plan, PlannedTask, PlanRequest, Shift, Stop, TaskKind
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.plan import make_plan, workbench
from orchestrator.planner.problem import Due, Place
from orchestrator.planner.repair import repair
from orchestrator.planner.score_changes import cleans_moved, moves
from tests.planner.problems import posed, work


@pytest.fixture(scope="module")
def planned() -> tuple[PlanRequest, Plan]:
    """The example kitchen after a short search: with runs closer together than serial generation puts them."""
    kitchen = read_kitchen(example_kitchen())
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    plan = make_plan(request, effort="full", seconds=2, deterministic=True).plan
    assert plan is not None
    return request, plan


def test_repair_of_a_plan_that_still_holds_moves_nothing(planned: tuple[PlanRequest, Plan]) -> None:
    request, plan = planned
    again = make_plan(request.model_copy(update={"previous": plan}), effort="repair", seconds=1.0).plan
    assert again is not None
    places = [{t.id: (t.start, t.end, t.equipment, t.spans) for t in p.tasks} for p in (plan, again)]
    assert places[0] == places[1]


def test_generation_puts_an_unchanged_plan_back_by_itself(planned: tuple[PlanRequest, Plan]) -> None:
    request, plan = planned
    problem = workbench(request.model_copy(update={"previous": plan})).problem
    again = generate(problem, network(problem), "previous")
    assert moves(problem, again) == (0, 0)
    assert cleans_moved(problem, again) == 0


@pytest.mark.parametrize(
    ("now", "previous", "start"),
    [(0, (Place(30, 40),), 30), (31, (Place(30, 40),), 31), (0, (Place(45, 55),), 40)],
    ids=["as it was", "overtaken", "late"],
)
def test_repair_keeps_a_place_unless_it_is_overtaken_or_late(now: int, previous: tuple[Place, ...], start: int) -> None:
    problem = replace(posed([work("a", 10)], now=now, dues=(Due("O-1", (0,), 50),)), previous=previous)
    place = repair(problem).places[0]
    assert place is not None
    # Late work goes somewhere that is on time, by 40 at the latest; the rest is as near as may be.
    assert place.start == start if start != 40 else place.start <= 40


# Only what a disturbance touches moves: counted on the example, bounds by hand


def moved(before: Plan, after: Plan) -> list[str]:
    """Work, not upkeep, of the plan before that is at another instant or machine, or gone."""
    known = {t.id: t for t in after.tasks}

    def off(task: PlannedTask) -> bool:
        now = known.get(task.id)
        return now is None or (now.start, now.equipment) != (task.start, task.equipment)

    work_kinds = [t for t in before.tasks if t.kind not in (TaskKind.STAY, TaskKind.CLEAN)]
    return sorted(str(t.id) for t in work_kinds if off(t))


def repaired(request: PlanRequest, plan: Plan) -> Plan:
    again = request.model_copy(update={"previous": plan})
    found = make_plan(again, effort="repair", seconds=1.0).plan
    assert found is not None
    assert check(found, again) == ()
    return found


def churn_runs(plan: Plan) -> list[PlannedTask]:
    return sorted((t for t in plan.tasks if t.equipment == "churn" and t.recipe), key=lambda t: t.start)


def test_churn_run_twenty_minutes_longer_moves_its_own_batch_alone(
    planned: tuple[PlanRequest, Plan],
) -> None:
    request, plan = planned
    first, second, *_ = churn_runs(plan)
    longer = request.model_copy(update={"stretched": {first.id: 20}})
    off = moved(plan, repaired(longer, plan))
    # By hand: the next run starts an hour and a quarter after this one, so it need not move. Its own mix, run and
    # hardening may; no more of the batch hangs together with the run.
    assert second.start - first.start >= timedelta(minutes=75)
    assert 1 <= len(off) <= 3
    assert all(name.startswith(f"{first.lot}.") for name in off)


def test_cook_who_is_away_for_two_hours_moves_what_they_had_in_hand(planned: tuple[PlanRequest, Plan]) -> None:
    request, plan = planned
    first = min((t for t in plan.tasks if t.spans and t.recipe), key=lambda t: t.start)
    who, away = first.spans[0].crew[0], Break(start=first.start, end=first.start + timedelta(hours=2))
    crew = tuple(without(member, away) if member.id == who else member for member in request.kitchen.crew)
    theirs = [
        t for t in plan.tasks if any(who in s.crew and s.start < away.end and s.end > away.start for s in t.spans)
    ]
    kitchen = request.kitchen.model_copy(update={"crew": crew})
    off = moved(plan, repaired(request.model_copy(update={"kitchen": kitchen}), plan))
    # By hand: what they had in hand, of one batch (weighing, then drying), and the grinding that waits for it.
    lots = {t.lot for t in theirs}
    assert len(theirs) <= len(off) <= len(theirs) + 1
    assert all(any(name.startswith(f"{lot}.") for lot in lots) for name in off)


def without(member: CrewMember, away: Break) -> CrewMember:
    """Somebody who is away for a while."""
    shifts: list[Shift] = []
    for shift in member.shifts:
        if shift.end <= away.start or shift.start >= away.end:
            shifts.append(shift)
            continue
        parts = ((shift.start, away.start), (away.end, shift.end))
        shifts += [shift.model_copy(update={"start": a, "end": b}) for a, b in parts if b > a]
    return member.model_copy(update={"shifts": tuple(shifts)})


def test_order_added_moves_nothing_that_has_its_place(planned: tuple[PlanRequest, Plan]) -> None:
    request, plan = planned
    orders = request.kitchen.orders
    least = min(orders, key=lambda o: (len(o.lines), o.due))
    more = least.model_copy(update={"id": OrderId("ADDED"), "due": max(o.due for o in orders)})
    kitchen = request.kitchen.model_copy(update={"orders": (*orders, more)})
    off = moved(plan, repaired(request.model_copy(update={"kitchen": kitchen}), plan))
    # By hand: there are days of free hands and machines before it is due; nothing has to give way.
    assert off == []


def test_machine_that_stops_for_an_hour_moves_what_it_was_to_do_then(planned: tuple[PlanRequest, Plan]) -> None:
    request, plan = planned
    first, second, *_ = churn_runs(plan)
    stop = Stop(equipment="churn", start=first.start, end=first.start + timedelta(hours=1))
    off = moved(plan, repaired(request.model_copy(update={"stops": (stop,)}), plan))
    # By hand: as for a longer run; the second starts after the machine is back.
    assert second.start >= stop.end
    assert 1 <= len(off) <= 3
    assert all(name.startswith(f"{first.lot}.") for name in off)
