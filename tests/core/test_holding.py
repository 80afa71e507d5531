"""Held in place: a person holds a task, new plans leave it there, and facts that overtake it let it go."""

from datetime import datetime, timedelta

import pytest

from orchestrator.core.check import check
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import TaskFreed, TaskHeld
from orchestrator.core.holding import still_held, with_hold
from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import Actual, Plan, PlanRequest, Stop
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State
from orchestrator.planner.plan import make_plan
from tests.core.plan_changes import moved
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan

CHURN = TaskId("B1.churn")


def holding(task: str = "B1.churn", when: str = "Wed 07:00") -> Script:
    script = in_a_planned_kitchen()
    script.give(when, "hold_in_place", task=task, person="manager")
    return script


def held(state: State) -> list[str]:
    assert state.plan is not None
    return [task.id for task in state.plan.tasks if task.held_in_place]


def asked_to_hold(state: State, now: datetime) -> list[str]:
    previous = plan_request(state, now).previous
    assert previous is not None
    return [task.id for task in previous.tasks if task.held_in_place]


def planned(request: PlanRequest) -> Plan:
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    assert check(plan, request) == ()
    return plan


def test_hold_and_let_move_are_on_record_with_who_and_where() -> None:
    script = in_a_planned_kitchen()
    start = small_plan().task(CHURN).start
    assert script.give("Wed 07:00", "hold_in_place", task=CHURN, person="manager") == (
        TaskHeld(task=CHURN, at=at("Wed 07:00"), person="manager", start=start),  # type: ignore[arg-type]
    )
    assert held(script.state) == ["B1.churn"]
    assert script.give("Wed 07:05", "let_move", task=CHURN, person="manager") == (
        TaskFreed(task=CHURN, at=at("Wed 07:05"), person="manager"),  # type: ignore[arg-type]
    )
    assert held(script.state) == []


@pytest.mark.parametrize(
    ("kind", "task", "who", "code"),
    [
        ("hold_in_place", "B9.churn", "manager", RefusalCode.UNKNOWN),
        ("hold_in_place", "C1.age.B1", "manager", RefusalCode.WRONG_STATE),
        ("hold_in_place", "B1.churn", None, RefusalCode.NOT_ALLOWED),
        ("let_move", "B1.churn", "manager", RefusalCode.WRONG_STATE),
    ],
)
def test_hold_is_refused_by_name(kind: str, task: str, who: str | None, code: RefusalCode) -> None:
    refusal = in_a_planned_kitchen().refused("Wed 07:00", kind, task=task, person=who)
    assert (refusal.thing, refusal.code) == (task, code)


def test_hold_of_what_has_begun_or_whose_start_has_passed_is_refused() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert script.refused("Wed 10:20", "hold_in_place", task="C1.cook", person="manager").status == "done"
    late = in_a_planned_kitchen().refused("Wed 08:30", "hold_in_place", task="C1.cook", person="manager")
    assert late.status == "its planned start has passed"


def test_new_plan_leaves_a_held_task_in_its_place() -> None:
    """A stop of the hob would move the cooking to noon, and with it, without the hold, what follows the next day."""
    script = holding()
    script.give("Wed 07:10", "stop_machine", equipment="hob-1", until=at("Wed 12:00"))
    request = plan_request(script.state, at("Wed 07:10"))
    plan = planned(request)
    before = small_plan().task(CHURN)
    after = plan.task(CHURN)
    assert plan.task(TaskId("C1.cook")).start >= at("Wed 12:00")
    assert (after.start, after.equipment, after.held_in_place) == (before.start, before.equipment, True)


def test_plan_that_moves_a_held_task_is_stale() -> None:
    script = holding("S1.simmer")
    refusal = script.refused("Wed 07:20", "offer_plan", plan=moved(small_plan(), "S1.simmer", -10))
    assert refusal.code is RefusalCode.STALE
    assert refusal.status == "S1.simmer is held at Wed 25 Nov 10:30, yet moved to Wed 25 Nov 10:20"


def test_plan_made_before_the_hold_carries_it_when_it_is_adopted() -> None:
    script = holding()
    script.give("Wed 07:20", "offer_plan", plan=moved(small_plan(), "S1.simmer", -10))
    assert script.state.revision == 2
    assert held(script.state) == ["B1.churn"]


def test_plan_made_before_the_task_was_let_go_does_not_hold_it() -> None:
    script = holding()
    made = script.state.plan
    assert made is not None
    script.give("Wed 07:10", "let_move", task=CHURN, person="manager")
    script.give("Wed 07:20", "offer_plan", plan=moved(made, "S1.simmer", -10))
    assert (script.state.revision, held(script.state)) == (2, [])


def test_hold_is_replayed_from_the_log() -> None:
    script = holding()
    again = Script(kitchen=script.kitchen)
    for recorded in script.log:
        again.record(recorded.command_id, (recorded.event,))
    assert held(again.state) == ["B1.churn"]


def test_hold_goes_when_its_start_has_passed() -> None:
    script = holding("C1.cook")
    start = small_plan().task(TaskId("C1.cook")).start
    assert asked_to_hold(script.state, start) == ["C1.cook"]
    assert asked_to_hold(script.state, start + timedelta(minutes=1)) == []


def test_hold_goes_when_its_machine_is_stopped_then() -> None:
    script = holding()
    churn = small_plan().task(CHURN)
    script.give("Wed 07:10", "stop_machine", equipment="churn", until=churn.start + timedelta(minutes=5))
    assert asked_to_hold(script.state, at("Wed 07:10")) == []
    assert planned(plan_request(script.state, at("Wed 07:10"))).task(CHURN).start >= churn.start


@pytest.mark.parametrize(
    ("machine", "start", "until"),
    [("churn", "Thu 08:00", "Thu 09:00"), ("churn", "Thu 09:30", "Thu 12:00"), ("ice-bath", "Thu 08:00", "Thu 12:00")],
    ids=["until it begins", "from its end", "of another machine"],
)
def test_hold_stays_when_a_stop_does_not_reach_into_it(machine: str, start: str, until: str) -> None:
    plan = with_hold(small_plan(), CHURN, held=True)
    stop = Stop(equipment=EquipmentId(machine), start=at(start), end=at(until))
    assert still_held(plan, at("Wed 07:10"), (), (stop,), ()) is plan
    reaching = stop.model_copy(
        update={"equipment": EquipmentId("churn"), "start": at("Thu 09:29"), "end": at("Thu 12:00")}
    )
    assert [t.id for t in still_held(plan, at("Wed 07:10"), (), (reaching,), ()).tasks if t.held_in_place] == []


def test_hold_stays_when_another_lot_may_not_be_used() -> None:
    plan = with_hold(small_plan(), CHURN, held=True)
    assert still_held(plan, at("Wed 07:10"), (), (), (LotCode("S1"),)) is plan


def test_hold_goes_when_what_it_follows_is_in_hand_until_later() -> None:
    """The chill may begin as the cooking ends, and is held at 08:45."""
    plan = with_hold(small_plan(), TaskId("C1.chill"), held=True)

    def kept(until: str) -> bool:
        cook = {
            "task": "C1.cook",
            "status": "in hand",
            "start": at("Wed 08:00"),
            "end": at(until),
            "equipment": "hob-1",
        }
        return still_held(plan, at("Wed 08:10"), (Actual.model_validate(cook),), (), ()) is plan

    assert [kept("Wed 08:45"), kept("Wed 08:46")] == [True, False]


def test_hold_goes_when_the_stay_before_it_began_too_late() -> None:
    """12 h of ageing, counted from when it really began: at 21:00 the evening before; the churn is held at 09:00."""
    plan = with_hold(small_plan(), CHURN, held=True)

    def kept(since: str) -> bool:
        age = {
            "task": "C1.age.B1",
            "status": "in hand",
            "start": at(since),
            "end": at("Thu 09:00"),
            "equipment": "fridge",
        }
        return still_held(plan, at("Wed 22:00"), (Actual.model_validate(age),), (), ()) is plan

    assert [kept("Wed 21:00"), kept("Wed 21:01")] == [True, False]


def test_hold_goes_when_what_it_follows_cannot_have_ended_by_then() -> None:
    """Cooked from Wed 08:00 at the earliest 08:40, chilled 90 min, aged 12 h: not before Wed 22:10."""
    script = in_a_planned_kitchen()
    churn = small_plan().task(CHURN)
    script.give("Wed 07:00", "hold_in_place", task=CHURN, person="manager")
    latest = churn.start - timedelta(hours=12, minutes=130)
    assert asked_to_hold(script.state, latest) == ["B1.churn"]
    assert asked_to_hold(script.state, latest + timedelta(minutes=1)) == []


def test_hold_goes_when_its_lot_may_not_be_used() -> None:
    script = holding()
    script.give("Wed 07:05", "report_problem", task="B1.churn", what="quality", hold_lot=True)
    assert asked_to_hold(script.state, at("Wed 07:06")) == []
