"""The checker against what has happened: facts, stops, lots on hold, what is held in place, stock."""

from datetime import timedelta

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import Actual, Plan, PlanRequest, Stop, TaskLink, WindowBreak
from orchestrator.core.models.equipment import Maintenance
from orchestrator.core.quantities import Quantity
from tests.core.plan_changes import KITCHEN, PLAN, REQUEST, changed, moved, outlook, rules, stretched, without
from tests.fakes.kitchens import at, small_kitchen, with_machine


def test_check_waiting_task_before_now_is_in_the_past() -> None:
    now = REQUEST.model_copy(update={"now": at("Wed 08:30")})
    assert {v.tasks for v in check(PLAN, now) if v.rule == "present"} == {(TaskId("C1.cook"),)}


def actual(task: str, status: str, start: str, end: str, equipment: str = "hob-1") -> Actual:
    return Actual.model_validate(
        {"task": task, "status": status, "start": at(start), "end": at(end), "equipment": equipment}
    )


def test_check_fact_moved_or_left_out_is_a_violation() -> None:
    done = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40")
    request = REQUEST.model_copy(update={"now": at("Wed 08:42"), "actuals": (done,)})
    assert rules(PLAN, request) == set()
    assert "facts" in rules(moved(PLAN, "C1.cook", -30), request)
    assert "facts" in rules(without(PLAN, "C1.cook"), request)


def test_check_fact_with_seconds_passes_within_the_minute() -> None:
    done = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40")
    odd = done.model_copy(update={"end": done.end + timedelta(seconds=42)})
    assert rules(PLAN, REQUEST.model_copy(update={"now": odd.end, "actuals": (odd,)})) == set()


def test_check_facts_after_one_that_was_skipped_are_judged_too() -> None:
    skipped = actual("S1.simmer", "skipped", "Wed 07:00", "Wed 07:00")
    done = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40")
    request = REQUEST.model_copy(update={"now": at("Wed 08:42"), "actuals": (skipped, done)})
    found = [v.tasks for v in check(moved(PLAN, "C1.cook", -30), request) if v.rule == "facts"]
    assert found == [(TaskId("C1.cook"),)] * 2  # its start and its end


def test_check_facts_after_one_of_a_lost_lot_are_judged_too() -> None:
    lost = actual("S1.simmer", "done", "Wed 07:00", "Wed 07:30")
    done = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40")
    facts = {"now": at("Wed 08:42"), "actuals": (lost, done), "lost_lots": (LotCode("S1"),)}
    plan = without(moved(PLAN, "C1.cook", -30), "S1.simmer")
    found = [v.tasks for v in check(plan, REQUEST.model_copy(update=facts)) if v.rule == "facts"]
    assert found == [(TaskId("C1.cook"),)] * 2


def test_check_what_a_batch_takes_is_counted_though_the_one_before_it_is_lost() -> None:
    pegs = (PLAN.pegs[0].model_copy(update={"quantity": Quantity.model_validate("4 L")}), *PLAN.pegs[1:])
    request = REQUEST.model_copy(update={"lost_lots": (LotCode("C1"),)})
    found = [v.says for v in check(PLAN.model_copy(update={"pegs": pegs}), request) if v.rule == "components"]
    assert found == ["B1 takes 5 of custard-base, and 4 are pegged to it"]


def test_check_nobody_is_at_two_things_at_once_after_something_is_done() -> None:
    done = (actual("C1.cook", "done", "Wed 08:00", "Wed 08:40"),)
    request = REQUEST.model_copy(update={"now": at("Wed 08:42"), "actuals": done})
    # The chill needs the early cook from 08:45 to 08:50.
    assert "two things at once" in rules(moved(PLAN, "S1.simmer", -104), request)


def test_check_safety_link_written_down_as_one_of_quality_is_a_violation() -> None:
    link = PLAN.task(TaskId("C1.chill")).links[0]
    assert rules(changed(PLAN, "C1.chill", links=(link.model_copy(update={"window": "quality"}),))) == {"recipe"}


def test_check_what_a_lost_batch_would_have_taken_is_not_asked_for() -> None:
    request = REQUEST.model_copy(update={"lost_lots": (LotCode("B1"),)})
    plan = PLAN.model_copy(update={"pegs": PLAN.pegs[1:]})
    assert "components" in rules(plan)
    assert "components" not in rules(plan, request)


def test_check_fact_that_broke_a_rule_is_not_the_plans_fault() -> None:
    # Cooked and chilled at once, on a stopped machine: it happened, and no plan can mend it.
    both = (
        actual("C1.cook", "done", "Wed 08:00", "Wed 10:00"),
        actual("C1.chill", "done", "Wed 09:00", "Wed 10:15", "ice-bath"),
    )
    plan = changed(changed(PLAN, "C1.cook", end=at("Wed 10:00")), "C1.chill", start=at("Wed 09:00"))
    stop = Stop(equipment=EquipmentId("ice-bath"), start=at("Wed 08:00"), end=at("Wed 10:10"))
    request = REQUEST.model_copy(update={"now": at("Wed 10:15"), "actuals": both, "stops": (stop,)})
    assert rules(plan, request) == set()


def test_check_store_overfull_in_fact_is_not_the_plans_fault() -> None:
    done = (
        actual("C1.cook", "done", "Wed 08:00", "Wed 08:40"),
        actual("C1.chill", "done", "Wed 08:45", "Wed 10:15", "ice-bath"),
        actual("S1.simmer", "done", "Wed 10:30", "Wed 11:00"),
        actual("S1.chill", "done", "Wed 11:00", "Wed 12:00", "ice-bath"),
    )
    full = changed(changed(PLAN, "C1.age.B1", load=13.0), "S1.age", load=12.0)
    assert rules(full, REQUEST.model_copy(update={"now": at("Wed 10:20"), "actuals": done[:2]})) == {"capacity"}
    # A plan that divides a lot anew has stays without facts of their own; they are there all the same.
    assert rules(full, REQUEST.model_copy(update={"now": at("Wed 12:00"), "actuals": done})) == set()


def test_check_safety_maximum_that_has_passed_is_left_to_the_engine() -> None:
    done = (
        actual("C1.cook", "done", "Wed 08:00", "Wed 08:40"),
        actual("C1.chill", "in hand", "Wed 08:57", "Wed 10:15", "ice-bath"),
    )
    late = changed(PLAN, "C1.chill", start=at("Wed 08:57"))
    assert rules(late, REQUEST.model_copy(update={"now": at("Wed 09:00"), "actuals": done})) == set()
    missed = moved(PLAN, "C1.chill", 20)
    missed = changed(missed, "C1.age.B1", start=missed.task(TaskId("C1.chill")).end)
    before = REQUEST.model_copy(update={"now": at("Wed 08:50"), "actuals": done[:1]})
    assert rules(missed, before) == {"safety window"}
    assert rules(missed, before.model_copy(update={"now": at("Wed 09:00")})) == set()


def test_check_order_may_not_be_ready_before_its_earliest() -> None:
    orders = [o.model_dump(mode="json") for o in KITCHEN.orders]
    orders[0]["earliest"] = at("Sat 10:55")
    request = PlanRequest(kitchen=small_kitchen(orders=orders), now=KITCHEN.planning_start)
    assert rules(PLAN, request) == {"outlook"}


def test_check_task_on_stopped_machine_is_a_violation() -> None:
    stop = Stop(equipment=EquipmentId("churn"), start=at("Wed 06:00"), end=at("Thu 09:40"))
    found = check(PLAN, REQUEST.model_copy(update={"stops": (stop,)}))
    # The clean-down at 09:35 is allowed meanwhile.
    assert [(v.rule, v.tasks) for v in found] == [("stopped", (TaskId("B1.churn"),))]


@pytest.mark.parametrize(
    ("start", "end", "found"),
    [
        ("Thu 08:00", "Thu 09:00", set()),
        ("Thu 08:00", "Thu 09:01", {"stopped"}),
        ("Thu 09:30", "Thu 09:40", set()),
        ("Thu 09:29", "Thu 09:40", {"stopped"}),
    ],
    ids=["until the run", "into its first minute", "from its end", "from its last minute"],
)
def test_check_stop_and_maintenance_that_only_touch_a_run_are_none_of_its(
    start: str, end: str, found: set[str]
) -> None:
    # The run is from Thursday 09:00 to 09:30.
    stop = Stop(equipment=EquipmentId("churn"), start=at(start), end=at(end))
    assert rules(PLAN, REQUEST.model_copy(update={"stops": (stop,)})) == found
    other = stop.model_copy(update={"equipment": EquipmentId("freezer-2")})
    assert rules(PLAN, REQUEST.model_copy(update={"stops": (other,)})) == set()
    planned = with_machine(KITCHEN, "churn", maintenance=(Maintenance(start=at(start), end=at(end)),))
    assert rules(PLAN, REQUEST.model_copy(update={"kitchen": planned})) == found


def test_check_food_does_not_stay_in_a_stopped_store_unless_it_never_was_put_there() -> None:
    stop = Stop(equipment=EquipmentId("fridge"), start=at("Wed 18:00"), end=at("Wed 19:00"))
    request = REQUEST.model_copy(update={"stops": (stop,)})
    stays = {(TaskId("C1.age.B1"),), (TaskId("S1.age"),)}
    assert {v.tasks for v in check(PLAN, request) if v.rule == "stopped"} == stays
    through = changed(PLAN, "S1.age", start=at("Wed 18:30"), end=at("Wed 18:30"))
    assert {v.tasks for v in check(through, request) if v.rule == "stopped"} == {(TaskId("C1.age.B1"),)}


@pytest.mark.parametrize(("task", "after"), [("S1.churn", "X9.age"), ("X9.churn", "S1.age")])
def test_check_break_named_of_what_is_not_in_the_plan_is_a_violation(task: str, after: str) -> None:
    told = {"task": task, "after": after, "window": "quality", "minutes": 5, "side": "too late", "reason": "made up"}
    plan = PLAN.model_copy(update={"breaks": (WindowBreak.model_validate(told),)})
    assert [v.says for v in check(plan, REQUEST)] == [f"{task} after {after}: not in the plan"]


@pytest.mark.parametrize(("seconds", "found"), [(59, set()), (60, {"present"})])
def test_check_start_is_in_the_past_a_whole_minute_later(seconds: int, found: set[str]) -> None:
    now = at("Wed 08:00") + timedelta(seconds=seconds)
    assert rules(PLAN, REQUEST.model_copy(update={"now": now})) == found
    in_hand = (actual("C1.cook", "in hand", "Wed 07:20", "Wed 08:00"),)
    begun = REQUEST.model_copy(update={"now": now, "actuals": in_hand})
    assert ("present" in rules(moved(PLAN, "C1.cook", -40), begun)) is bool(found)


@pytest.mark.parametrize(("seconds", "found"), [(60, set()), (61, {"facts"})])
def test_check_facts_are_kept_to_the_minute(seconds: int, found: set[str]) -> None:
    done = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40")
    for change in ({"start": done.start + timedelta(seconds=seconds)}, {"end": done.end - timedelta(seconds=seconds)}):
        facts = (done.model_copy(update=change),)
        request = REQUEST.model_copy(update={"now": at("Wed 08:42"), "actuals": facts})
        assert rules(PLAN, request) == found
    elsewhere = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40", "hob-2")
    assert rules(PLAN, REQUEST.model_copy(update={"now": at("Wed 08:42"), "actuals": (elsewhere,)})) == {"facts"}


@pytest.mark.parametrize("field", ["held_lots", "lost_lots"])
def test_check_lot_held_or_lost_may_not_be_used(field: str) -> None:
    done = (
        actual("C1.cook", "done", "Wed 08:00", "Wed 08:40"),
        actual("C1.chill", "done", "Wed 08:45", "Wed 10:15", "ice-bath"),
        actual("C1.age.B1", "in hand", "Wed 10:15", "Thu 09:00", "fridge"),
    )
    request = REQUEST.model_copy(update={"now": at("Wed 10:20"), "actuals": done, field: (LotCode("C1"),)})
    found = [v for v in check(PLAN, request) if v.rule == "held lot"]
    assert [v.tasks for v in found] == [(TaskId("B1.churn"),)]


@pytest.mark.parametrize("field", ["held_lots", "lost_lots"])
def test_check_work_on_a_lot_held_or_lost_does_not_go_on_nor_is_it_promised(field: str) -> None:
    request = REQUEST.model_copy(update={field: (LotCode("C1"),)})
    found = [v for v in check(PLAN, request) if v.rule == "held lot"]
    assert [v.tasks for v in found] == [(TaskId(task),) for task in ("C1.cook", "C1.chill", "B1.churn")]
    untied = changed(PLAN, "B1.churn", links=())
    says = [v.says for v in check(untied, request) if v.rule == "held lot" and v.tasks == (TaskId("B1.churn"),)]
    assert says == ["B1 is promised food of C1, which is on hold or lost"]


def test_check_task_held_in_place_may_not_move() -> None:
    previous = changed(PLAN, "S1.simmer", held_in_place=True)
    request = REQUEST.model_copy(update={"previous": previous})
    assert rules(PLAN, request) == set()
    assert rules(moved(PLAN, "S1.simmer", -10), request) == {"held in place"}
    assert "held in place" in rules(without(PLAN, "S1.simmer"), request)
    # At the very instant at which it is held there it still can be; a minute later it cannot.
    late = moved(PLAN, "S1.simmer", 10)
    kept = [request.model_copy(update={"now": at(when)}) for when in ("Wed 10:30", "Wed 10:31")]
    assert ["held in place" in rules(late, one) for one in kept] == [True, False]
    let_go = moved(PLAN, "S1.simmer", -10).model_copy(update={"let_go": ("S1.simmer",)})
    assert rules(let_go, request) == set()


def test_check_needs_longer_allows_the_added_minutes_only() -> None:
    plan = stretched(PLAN, "SUN-CAFE.S.hand-over", 15)
    plan = outlook(plan, "SUN-CAFE", ready_at=at("Sun 15:05"), late_min=5, margin_min=0)
    assert rules(plan) == {"duration"}
    added = REQUEST.model_copy(update={"stretched": {TaskId("SUN-CAFE.S.hand-over"): 5}})
    assert rules(plan, added) == set()


def with_stock(use_by: str) -> tuple[Plan, PlanRequest]:
    """Basil custard on hand serves the stall; nothing of it is made."""
    lot = {
        "lot": "B0",
        "recipe": "basil-custard",
        "quantity": "4.8 L",
        "made": at("Wed 00:00"),
        "use_by": at(use_by),
        "place": "freezer",
    }
    kitchen = small_kitchen(stock=[lot])
    kept = [t for t in PLAN.tasks if t.lot not in ("C1", "B1")]
    hold = PLAN.task(TaskId("B1.harden.SAT-STALL")).model_copy(
        update={"id": TaskId("B0.hold.SAT-STALL"), "lot": LotCode("B0"), "links": (), "start": PLAN.start}
    )
    link = TaskLink(after=hold.id, most=0)
    tasks = [t.model_copy(update={"links": (link,)}) if t.id == "SAT-STALL.B.temper" else t for t in kept]
    pegs = [p.model_copy(update={"lot": LotCode("B0")}) if p.order == "SAT-STALL" else p for p in PLAN.pegs[1:]]
    plan = PLAN.model_copy(
        update={
            "tasks": (*tasks, hold),
            "pegs": tuple(pegs),
            "batches": tuple(b for b in PLAN.batches if b.lot == "S1"),
        }
    )
    return plan, PlanRequest(kitchen=kitchen, now=kitchen.planning_start)


def test_check_stock_within_its_use_by_passes_and_after_it_not() -> None:
    assert rules(*with_stock("Sat 12:00")) == set()
    assert rules(*with_stock("Sat 09:00")) == {"use by", "shelf life"}  # taken, and handed over, too late


def test_check_begun_batch_that_loses_its_chill_is_found_unless_openly_given_up() -> None:
    done = actual("C1.cook", "done", "Wed 08:00", "Wed 08:40")
    facts = {"now": at("Wed 08:42"), "previous": PLAN, "actuals": (done,)}
    request = REQUEST.model_copy(update=facts)
    lacking = without(PLAN, "C1.chill")
    rule = "begun batches keep their remaining steps"
    assert [v.tasks for v in check(lacking, request) if v.rule == rule] == [(TaskId("C1.chill"),)]
    told = lacking.model_copy(update={"given_up": (LotCode("C1"),)})
    assert [v for v in check(told, request) if v.rule == rule] == []
