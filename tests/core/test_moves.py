"""Moves with their reasons: what changed since the plan before, for every task that a new plan moves; never empty."""

from datetime import timedelta
from pathlib import Path

import pytest

from orchestrator.core.changes import apply
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Actual, Kitchen, Move, Plan, PlanRequest, Stop
from orchestrator.core.models.change import CHANGES, Change
from orchestrator.core.moves import moves_between
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.plan import make_plan
from tests.core.plan_changes import KITCHEN, PLAN, REQUEST, changed, crew, moved, without

CONFIG = Path(__file__).parents[2] / "config"


# By hand: one thing changes in the plan of the small kitchen


def reasons(after: Plan, request: PlanRequest = REQUEST, before: Kitchen | None = None) -> dict[str, str]:
    return {move.task: move.reason for move in moves_between(PLAN, after, request, before)}


def test_move_of_what_follows_a_move_names_it() -> None:
    after = moved(moved(PLAN, "C1.cook", 20), "C1.chill", 20)
    assert reasons(after)["C1.chill"] == "it follows 'Cook the custard base' (C1), which ends later"


def test_move_of_a_machine_that_is_stopped_names_the_stop() -> None:
    churn = PLAN.task(TaskId("B1.churn"))
    stop = Stop(equipment=churn.equipment or "", start=churn.start, end=churn.end + timedelta(hours=1))  # type: ignore[arg-type]
    found = reasons(moved(PLAN, "B1.churn", 120), REQUEST.model_copy(update={"stops": (stop,)}))
    back = KITCHEN.local(stop.end).strftime("%a %d %b %H:%M")
    assert found["B1.churn"] == f"the Churn is stopped until {back}"


def test_move_of_what_waits_for_work_that_needs_longer_names_the_minutes() -> None:
    cook = PLAN.task(TaskId("C1.cook"))
    longer = cook.end + timedelta(minutes=25)
    told = Actual(task=cook.id, status="in hand", start=cook.start, end=longer, equipment=cook.equipment)
    request = REQUEST.model_copy(update={"actuals": (told,), "now": cook.start + timedelta(minutes=5)})
    found = reasons(moved(PLAN, "C1.chill", 25), request)
    assert found == {"C1.chill": "'Cook the custard base' (C1) needs longer and ends 25 min later than planned"}


def test_move_of_what_has_not_begun_in_time_says_so() -> None:
    cook = PLAN.task(TaskId("C1.cook"))
    request = REQUEST.model_copy(update={"now": cook.start + timedelta(minutes=10)})
    said = reasons(moved(PLAN, "C1.cook", 15), request)["C1.cook"]
    assert said == f"it has not begun by {KITCHEN.local(request.now).strftime('%a %d %b %H:%M')}"


def test_move_to_other_people_says_that_somebody_is_not_there() -> None:
    shifts = tuple(m.model_copy(update={"shifts": ()}) if m.id == "early-cook" else m for m in KITCHEN.crew)
    request = REQUEST.model_copy(update={"kitchen": KITCHEN.model_copy(update={"crew": shifts})})
    said = reasons(crew(PLAN, "C1.cook", "late-cook"), request)["C1.cook"]
    cook = PLAN.task(TaskId("C1.cook"))
    assert said == f"Early cook is not there at {KITCHEN.local(cook.start).strftime('%a %d %b %H:%M')}"


def test_task_gone_names_the_lot_that_is_lost_or_the_order_that_is_dropped() -> None:
    lost = REQUEST.model_copy(update={"lost_lots": ("B1",)})
    assert reasons(without(PLAN, "B1.churn"), lost)["B1.churn"] == "B1 is lost"
    order = PLAN.task(TaskId("B1.churn"))
    assert order.lot == "B1"
    orders = {peg.order for peg in PLAN.pegs if peg.lot == "B1" and peg.order}
    kept = tuple(o for o in KITCHEN.orders if o.id not in orders)
    dropped = REQUEST.model_copy(update={"kitchen": KITCHEN.model_copy(update={"orders": kept})})
    said = reasons(without(PLAN, "B1.churn"), dropped, KITCHEN)["B1.churn"]
    assert said in {f"{name} has been dropped" for name in orders}


def test_move_that_makes_an_order_earlier_says_by_how_much() -> None:
    order = next(o.order for o in PLAN.outlooks if o.met)
    late = tuple(o.model_copy(update={"late_min": 30}) if o.order == order else o for o in PLAN.outlooks)
    before = PLAN.model_copy(update={"outlooks": late})
    task = next(t.id for t in PLAN.tasks if t.order == order and t.step == "hand-over")
    found = moves_between(before, moved(PLAN, task, -30), REQUEST)
    assert [(move.task, move.reason) for move in found] == [(task, f"it makes {order} 30 min earlier")]


def test_nothing_moves_between_equal_plans() -> None:
    assert reasons(PLAN) == {}
    assert list(reasons(changed(PLAN, "B1.churn", title="Another title"))) == []


# The example kitchen, planned anew after a change


@pytest.fixture(scope="module")
def example() -> PlanRequest:
    kitchen = read_kitchen(CONFIG)
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    return request.model_copy(update={"previous": _planned(request)})


def _planned(request: PlanRequest) -> Plan:
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    return plan


def _change(kind: str, **told: object) -> Change:
    return CHANGES.validate_python({"change": kind, **told})


def _moves(request: PlanRequest, *changes: Change) -> tuple[Move, ...]:
    after = apply(request, changes)
    assert isinstance(after, PlanRequest)
    assert request.previous is not None
    return moves_between(request.previous, _planned(after), after, request.kitchen)


def test_every_move_of_a_replan_of_the_example_has_a_reason(example: PlanRequest) -> None:
    assert example.previous is not None
    churn = next(t for t in example.previous.tasks if t.step == "churn")
    party = {
        "id": "FRI-PARTY",
        "customer": "Birthday",
        "due": example.kitchen.planning_start + timedelta(days=3),
        "lines": [{"product": "damson-sorbet", "quantity": "2 L"}],
    }
    stop = _change(
        "machine stopped", equipment=churn.equipment, start=churn.start, end=churn.start + timedelta(hours=4)
    )
    hob = next(t for t in example.previous.tasks if t.step == "cook")
    away = _change("machine stopped", equipment=hob.equipment, start=hob.start, end=hob.start + timedelta(hours=24))
    tried = (stop, away, _change("add order", order=party), _change("drop order", order="SAT-PARTY"))
    by_change = [_moves(example, change) for change in tried]
    found = [move for moves in by_change for move in moves]
    # Each change moves something of its own, and all together much: less would put few reasons to the test.
    assert [len(moves) >= least for moves, least in zip(by_change, (6, 10, 6, 2), strict=True)] == [True] * 4
    assert len(found) > 40
    assert [move.task for move in found if not move.reason] == []
    told = {move.reason for move in found}
    assert {"FRI-PARTY is new", "SAT-PARTY has been dropped"} <= told
    assert any(said.startswith("the Churn is stopped until ") for said in told)
