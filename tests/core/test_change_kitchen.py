"""The kitchen changed by hand: who may, what stays, and that what was tried is what comes of it."""

from typing import Any

import pytest

from orchestrator.core import views
from orchestrator.core.adoption import still_holds, waits_for
from orchestrator.core.alarms import conditions
from orchestrator.core.changes import apply, carried_out
from orchestrator.core.decide import Decision
from orchestrator.core.due import next_due
from orchestrator.core.effects import AskForPlan
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import MachineReturned, MachineStopped, Recorded, ReplanWanted, TaskStarted
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import PlanRequest, WindowBreak
from orchestrator.core.models.change import CHANGES
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at

PARTY = {
    "id": "FRI-PARTY",
    "customer": "Birthday",
    "due": at("Fri 15:00"),
    "lines": [{"product": "basil-custard", "quantity": "2 L"}],
}
ADD = {"change": "add order", "order": PARTY}
BREAK = {"change": "allow break", "task": "S1.churn", "after": "S1.age", "side": "too early", "minutes": 90}
LOT = {"lot": "B90", "recipe": "basil-custard", "quantity": "2 L", "made": at("Wed 05:00"), "place": "freezer"}
NOON = {"start": at("Thu 12:00"), "end": at("Thu 14:00")}


def changed(script: Script, when: str, *changes: dict[str, Any], person: str = "manager", **more: Any) -> list[Any]:
    return list(script.give(when, "change_kitchen", changes=list(changes), person=person, **more))


def test_change_kitchen_puts_it_on_record_and_asks_for_a_plan() -> None:
    script = in_a_planned_kitchen()
    events = changed(script, "Wed 07:00", ADD, reason="by telephone")
    assert [type(event) for event in events] == [KitchenChanged, ReplanWanted]
    assert (events[0].person, events[0].reason, events[0].at) == ("manager", "by telephone", at("Wed 07:00"))
    assert script.state.kitchen is not None
    assert [order.id for order in script.state.kitchen.orders][-1] == "FRI-PARTY"
    why = "changed by hand: FRI-PARTY more: 2 L Basil custard for Birthday, due Fri 27 Nov 15:00"
    assert script.state.replan_reason == why
    assert AskForPlan(why) in script.last.effects


def test_change_kitchen_is_for_a_manager_but_for_facts_of_the_day() -> None:
    script = in_a_planned_kitchen()
    told = script.refused("Wed 07:00", "change_kitchen", changes=[ADD], person="early-cook")
    assert (told.code, told.thing, told.remedy) == (RefusalCode.NOT_ALLOWED, "add order", "ask Manager")
    told = script.refused("Wed 07:00", "change_kitchen", changes=[ADD])
    assert told.remedy == "say who you are"
    away = {"change": "absent", "crew": "late-cook", **NOON}
    changed(script, "Wed 07:00", away, person="early-cook")
    stop = {"change": "machine stopped", "equipment": "churn", **NOON}
    changed(script, "Wed 07:00", stop, person="early-cook")


def test_change_kitchen_without_any_manager_is_for_anybody_named() -> None:
    script = in_a_planned_kitchen()
    kitchen = script.kitchen
    crew = tuple(member.model_copy(update={"manager": False}) for member in kitchen.crew)
    alone = Script(kitchen=kitchen.model_copy(update={"crew": crew}))
    alone.give("Wed 06:00", "import_kitchen", kitchen=alone.kitchen)
    before = [order.id for order in alone.kitchen.orders]
    changed(alone, "Wed 07:00", ADD, person="early-cook")
    assert alone.state.kitchen is not None
    assert [order.id for order in alone.state.kitchen.orders] == [*before, PARTY["id"]]


def test_change_kitchen_with_one_that_cannot_be_changes_nothing() -> None:
    script = in_a_planned_kitchen()
    drop = {"change": "drop order", "order": "SAT-STAL"}
    told = script.refused("Wed 07:00", "change_kitchen", changes=[ADD, drop], person="manager")
    assert (told.thing, told.remedy) == ("SAT-STAL", "did you mean SAT-STALL?")


def test_change_kitchen_sent_twice_is_done_once() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 07:00", ADD, command_id="same")
    before = script.state
    assert script.try_("Wed 07:01", "change_kitchen", changes=[ADD], person="manager", command_id="same") == Decision()
    assert script.state == before


LASTING = [
    ADD,
    {"change": "change order", "order": "SAT-STALL", "due": at("Sat 12:00"), "weight": 3},
    {"change": "smaller batch", "order": "SAT-STALL", "product": "basil-custard", "quantity": "1 L"},
    {"change": "drop order", "order": "SAT-STALL"},
    {"change": "extra shift", "crew": "counter-hand", "start": at("Fri 09:00"), "end": at("Fri 12:00")},
    {"change": "start earlier", "crew": "late-cook", "start": at("Thu 11:00")},
    {"change": "absent", "crew": "early-cook", **NOON},
    {"change": "machine stopped", "equipment": "churn", **NOON},
    {"change": "stock lot", "lot": LOT},
    BREAK,
]


@pytest.mark.parametrize("change", LASTING, ids=lambda change: change["change"])
def test_change_that_was_tried_is_what_the_planner_is_told_once_it_holds(change: dict[str, Any]) -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    tried = apply(plan_request(script.state, at("Wed 08:10")), [CHANGES.validate_python(change)])
    assert isinstance(tried, PlanRequest)
    changed(script, "Wed 08:10", change, reason="asked for")
    assert plan_request(script.state, at("Wed 08:10")) == tried
    assert tried != plan_request(in_a_planned_kitchen().state, at("Wed 08:10"))


def test_machine_told_to_be_back_before_its_stop_begins_is_not_stopped() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 07:00", {"change": "machine stopped", "equipment": "churn", **NOON}, reason="belt")
    back = {"change": "machine back", "equipment": "churn", "at": at("Thu 13:00")}
    changed(script, "Wed 07:05", back)
    assert [(s.start, s.end, s.reason) for s in script.state.by_hand.stops] == [
        (at("Thu 12:00"), at("Thu 13:00"), "belt")
    ]
    changed(script, "Wed 07:06", {**back, "at": at("Wed 07:06")})
    assert script.state.by_hand.stops == ()


def test_stop_told_for_later_begins_by_itself_and_ends_by_itself() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 07:00", {"change": "machine stopped", "equipment": "churn", **NOON}, reason="belt")
    assert script.state.machines == {}
    due = next_due(script.state, at("Thu 11:59"))
    assert due is not None
    assert due <= at("Thu 12:00")
    events = script.give("Thu 12:00", "tick")
    assert [(e.equipment, e.at, e.until, e.person) for e in events if isinstance(e, MachineStopped)] == [
        ("churn", at("Thu 12:00"), at("Thu 14:00"), "manager")
    ]
    assert script.state.by_hand.stops == ()
    assert script.state.machines["churn"].reason == "belt"
    script.give("Thu 14:00", "tick")
    assert script.state.machines == {}


def test_stop_begins_although_one_further_ahead_was_told_before_it() -> None:
    script = in_a_planned_kitchen()
    friday = {"start": at("Fri 12:00"), "end": at("Fri 14:00")}
    changed(script, "Wed 07:00", {"change": "machine stopped", "equipment": "hob-1", **friday})
    changed(script, "Wed 07:01", {"change": "machine stopped", "equipment": "churn", **NOON})
    script.give("Thu 12:00", "tick")
    assert set(script.state.machines) == {"churn"}
    assert [(stop.equipment, stop.start) for stop in script.state.by_hand.stops] == [("hob-1", at("Fri 12:00"))]


def test_stop_told_for_later_that_came_and_went_while_nobody_looked_is_over() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 07:00", {"change": "machine stopped", "equipment": "churn", **NOON})
    events = script.give("Thu 15:00", "tick")
    kinds = [e for e in events if isinstance(e, MachineStopped | MachineReturned)]
    assert [type(e) for e in kinds] == [MachineStopped, MachineReturned]
    assert script.state.machines == {}


def test_stop_told_for_later_does_not_shorten_one_that_stands_until_nobody_knows_when() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 07:00", {"change": "machine stopped", "equipment": "churn", **NOON})
    script.give("Wed 08:00", "stop_machine", equipment="churn", person="early-cook", reason="will not turn")
    script.give("Thu 12:00", "tick")
    stop = script.state.machines["churn"]
    assert (stop.since, stop.until, stop.reason) == (at("Wed 08:00"), None, "will not turn")
    assert script.state.by_hand.stops == ()


def test_machine_stopped_as_of_now_is_the_stop_that_everybody_knows() -> None:
    script = in_a_planned_kitchen()
    stop = {"change": "machine stopped", "equipment": "churn", "start": at("Wed 07:00"), "end": at("Wed 09:00")}
    events = changed(script, "Wed 07:00", stop, reason="belt")
    assert [type(event) for event in events] == [MachineStopped, ReplanWanted]
    changed(script, "Wed 07:30", {"change": "machine back", "equipment": "churn", "at": at("Wed 08:00")})
    assert script.state.machines["churn"].until == at("Wed 08:00")
    changed(script, "Wed 07:40", {"change": "machine back", "equipment": "churn", "at": at("Wed 07:40")})
    assert script.state.machines == {}


def test_task_held_and_freed_by_a_change_is_held_as_by_its_own_command() -> None:
    script = in_a_planned_kitchen()
    events = changed(script, "Wed 07:00", {"change": "hold task", "task": "B1.churn"}, person="early-cook")
    assert [event.kind for event in events] == ["task_held"]
    assert script.state.plan is not None
    assert script.state.plan.task(events[0].task).held_in_place
    changed(script, "Wed 07:01", {"change": "free task", "task": "B1.churn"}, person="early-cook")
    assert not any(task.held_in_place for task in script.state.plan.tasks)


def test_dropped_order_can_be_added_again_as_it_was() -> None:
    script = in_a_planned_kitchen()
    assert script.state.kitchen is not None
    order = next(o for o in script.state.kitchen.orders if o.id == "SAT-STALL")
    changed(script, "Wed 07:00", {"change": "drop order", "order": "SAT-STALL"})
    assert script.state.by_hand.entries[-1].dropped == (order,)
    changed(script, "Wed 07:10", {"change": "add order", "order": order})
    assert script.state.kitchen is not None
    assert order in script.state.kitchen.orders


def test_order_that_is_being_made_ready_or_handed_over_stays_as_it_was_ordered() -> None:
    script = in_a_planned_kitchen()
    began = {"task": "SAT-STALL.B.temper", "at": at("Sat 10:20"), "person": "counter-hand", "equipment": "bench"}
    script.record(CommandId("began"), (TaskStarted.model_validate(began),))
    drop = {"change": "drop order", "order": "SAT-STALL"}
    told = script.refused("Sat 10:25", "change_kitchen", changes=[drop], person="manager")
    assert told.status == "Temper is in hand for it already"
    less = {"change": "change order", "order": "SAT-STALL", "weight": 9}
    assert script.refused("Sat 10:25", "change_kitchen", changes=[less], person="manager").thing == "SAT-STALL"


def test_quality_break_needs_a_reason_and_then_waits_for_nobody_else() -> None:
    script = in_a_planned_kitchen()
    told = script.refused("Wed 07:00", "change_kitchen", changes=[BREAK], person="manager")
    assert (told.thing, told.remedy) == ("S1.churn", "say why")
    plan = script.state.plan
    assert plan is not None
    named = {"task": "S1.churn", "after": "S1.age", "window": "quality", "side": "too early", "reason": "short"}
    broken = plan.model_copy(update={"breaks": (WindowBreak(**named, minutes=80),)})  # type: ignore[arg-type]
    assert waits_for(script.state, broken, at("Wed 07:00")) == ("S1.churn would be 80 min too early after S1.age",)
    changed(script, "Wed 07:00", BREAK, reason="the stall cannot wait")
    one = script.state.by_hand.allowances[0]
    assert (one.by, one.reason, one.allowed.minutes) == ("manager", "the stall cannot wait", 90)
    assert waits_for(script.state, broken, at("Wed 07:00")) == ()
    more = plan.model_copy(update={"breaks": (WindowBreak(**named, minutes=100),)})  # type: ignore[arg-type]
    assert waits_for(script.state, more, at("Wed 07:00")) != ()


def test_change_based_on_another_plan_or_kitchen_is_refused() -> None:
    script = in_a_planned_kitchen()
    basis = {"revision": script.state.revision, "changes": script.state.by_hand.changes}
    old = {**basis, "revision": basis["revision"] - 1}
    told = script.refused("Wed 07:00", "change_kitchen", changes=[ADD], person="manager", based_on=old)
    assert (told.code, told.status) == (RefusalCode.STALE, "the plan has become another since this was shown")
    changed(script, "Wed 07:00", ADD, based_on=basis)
    drop = {"change": "drop order", "order": "FRI-PARTY"}
    told = script.refused("Wed 07:00", "change_kitchen", changes=[drop], person="manager", based_on=basis)
    assert told.status == "the kitchen has become another since this was shown"


def test_wish_for_more_or_less_leaves_the_present_plan_workable_and_an_absence_need_not() -> None:
    script = in_a_planned_kitchen()
    assert still_holds(script.state, at("Wed 07:00"))
    changed(script, "Wed 07:00", ADD, {"change": "stock lot", "lot": LOT})
    assert still_holds(script.state, at("Wed 07:00"))
    changed(script, "Wed 07:00", {"change": "drop order", "order": "SAT-STALL"})
    assert still_holds(script.state, at("Wed 07:00"))
    day = {"start": at("Wed 06:00"), "end": at("Wed 14:00")}
    changed(script, "Wed 07:00", {"change": "absent", "crew": "early-cook", **day})
    assert not still_holds(script.state, at("Wed 07:00"))


def test_every_screen_and_alarm_lives_with_an_order_that_the_plan_still_has_and_one_that_it_has_not_yet() -> None:
    script = in_a_planned_kitchen()
    changed(
        script, "Wed 07:00", ADD, {"change": "drop order", "order": "SAT-STALL"}, {"change": "stock lot", "lot": LOT}
    )
    state, now = script.state, at("Wed 07:00")
    assert state.kitchen is not None
    assert state.plan is not None
    views.board_view(state, {}, now)
    assert "B90" in {view.lot for view in views.lot_views(state, {}, now)}
    orders = {view.order: view.outlook for view in views.order_views(state, {}, now)}
    assert "SAT-STALL" not in orders
    assert orders["FRI-PARTY"] is None
    for station in state.kitchen.stations:
        views.station_view(state, {}, now, station.id)
    for task in state.plan.tasks:
        views.task_view(state, {}, now, task.id)
    conditions(state, {}, now)
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")


def test_log_read_again_gives_the_state_that_was_lived() -> None:
    script = in_a_planned_kitchen()
    for change in LASTING:
        if change["change"] != "drop order":
            changed(script, "Wed 07:00", change, reason="asked for")
    changed(script, "Wed 07:01", {"change": "machine back", "equipment": "churn", "at": at("Thu 13:00")})
    script.give("Thu 12:30", "tick")
    state = State()
    for recorded in script.log:
        state = evolve(state, Recorded.model_validate_json(recorded.model_dump_json()))
    assert state == script.state


@pytest.mark.parametrize("change", LASTING, ids=lambda change: change["change"])
def test_change_accepted_once_is_carried_out_however_little_of_it_is_left(change: dict[str, Any]) -> None:
    # The log must be readable also when refusals have become stricter: nothing that is read again may fail.
    script = in_a_planned_kitchen()
    kitchen = script.kitchen.model_copy(update={"orders": (), "crew": ()})
    request = PlanRequest(kitchen=kitchen, now=at("Sat 20:00"))
    assert isinstance(carried_out(request, [CHANGES.validate_python(change)]), PlanRequest)
