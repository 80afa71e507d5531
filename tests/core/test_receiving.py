"""Receiving: what is taken in, refused or short; what is short makes work wait; other allergens are caught.

The temperatures are those of FDA Food Code 2022, 3-501.16(A)(2) and 3-202.11(A): 5 °C (41 °F) or below; that a food
thermometer may be off by 1 °C (2 °F) is its 4-203.11.
"""

import pytest

from orchestrator.core.by_products import pantry_allergens
from orchestrator.core.check import check
from orchestrator.core.errors import RefusalCode
from orchestrator.core.ids import SupplyLotId, TaskId
from orchestrator.core.models import PlanRequest
from orchestrator.core.planning import plan_request
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.stock_events import DeliveryReceived
from orchestrator.core.wanted import still_wanted
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.stock_script import DAMSONS, WHO, at_the_door, churned_and_tempered
from tests.fakes.kitchens import at, small_kitchen
from tests.planner.planned import planned

MILK = {"ingredient": "whole milk", "quantity": "4 L", "keep": "cold", "person": WHO, "outcome": "accepted"}


def came(script: Script) -> DeliveryReceived:
    return script.state.pantry.deliveries[-1]


@pytest.mark.parametrize(
    ("celsius", "status", "close"), [(3.5, "met", False), (4.5, "met", True), (5.0, "met", True), (5.4, "broken", True)]
)
def test_delivery_is_judged_against_cold_holding_with_the_thermometers_tolerance(
    celsius: float, status: str, close: bool
) -> None:
    script = at_the_door()
    told = {**MILK, "celsius": celsius, "person": "manager", "reason": "local code 4"}
    script.give("Wed 07:40", "receive_delivery", **told)
    verdict = came(script).verdict
    assert verdict is not None
    assert (verdict.limit, verdict.status, verdict.within_tolerance) == ("cold-holding", status, close)
    assert verdict.tolerance_degrees == 1.0


def test_delivery_too_warm_is_for_a_manager_with_a_reason() -> None:
    script = at_the_door()
    warm = {**MILK, "celsius": 8.0}
    assert "3.0 °C above" in script.refused("Wed 07:40", "receive_delivery", **warm).status
    assert "local code" in script.refused("Wed 07:40", "receive_delivery", **{**warm, "person": "manager"}).remedy
    frozen = {**MILK, "keep": "frozen", "celsius": -15.0}
    assert "3.0 °C above its limit (Keep frozen)" in script.refused("Wed 07:40", "receive_delivery", **frozen).status
    assert script.refused("Wed 07:40", "receive_delivery", **MILK).status == "its temperature is missing"
    past = {**MILK, "celsius": 3.0, "use_by": at("Wed 07:00")}
    assert "is past" in script.refused("Wed 07:40", "receive_delivery", **past).status
    kilos = {**MILK, "celsius": 3.0, "quantity": "4 kg"}
    assert script.refused("Wed 07:40", "receive_delivery", **kilos).status == "recipes take it in L"


def test_what_was_waited_for_is_there_and_asks_for_a_plan() -> None:
    script = at_the_door()
    told = {"ingredient": "damsons", "outcome": "accepted", "quantity": "4 kg", "person": WHO}
    script.give("Wed 07:40", "receive_delivery", **told)
    assert script.state.kitchen is not None
    assert script.state.kitchen.supplies == ()
    assert script.state.replan_reason == "damsons is there"


def test_temperature_and_amount_that_hardly_can_be_are_asked_about_one_by_one_and_taken_by_who_is_sure() -> None:
    script = at_the_door()
    told = {**MILK, "quantity": "4000 L", "expected": "4 L", "celsius": 41.0}
    asked = script.refused("Wed 07:40", "receive_delivery", **told)
    assert (asked.code, asked.field, asked.meant) == (RefusalCode.DOUBTFUL, "", 5.0)
    told = {**told, "celsius": 3.0, "sure": True}
    asked = script.refused("Wed 07:40", "receive_delivery", **told)
    assert (asked.code, asked.field, asked.meant) == (RefusalCode.DOUBTFUL, "quantity", 4.0)
    script.give("Wed 07:40", "receive_delivery", **told, sure_of_amount=True)
    assert came(script).quantity == Quantity.model_validate("4000 L")


def test_amount_of_a_delivery_that_nobody_ordered_by_number_is_compared_with_what_the_plan_takes() -> None:
    script = at_the_door()
    asked = script.refused("Wed 07:40", "receive_delivery", **{**MILK, "quantity": "4000 L", "celsius": 3.0})
    needed = still_wanted(script.state, "whole milk", Unit.LITRE)
    assert needed > 0
    assert (asked.code, asked.status) == (
        RefusalCode.DOUBTFUL,
        f"4000 L does not fit: the plan takes {Quantity(value=needed, unit=Unit.LITRE)}",
    )


@pytest.mark.parametrize("outcome", ["refused", "not come"])
def test_refused_delivery_makes_its_work_wait_for_the_next(outcome: str) -> None:
    script = at_the_door()
    told = {"ingredient": "damsons", "outcome": outcome, "reason": "mouldy", "rest_at": at("Thu 07:00"), "person": WHO}
    script.give("Wed 09:55", "receive_delivery", **told)
    assert script.state.plan is not None
    request = plan_request(script.state, at("Wed 09:55"))
    assert "supplies" in {violation.rule for violation in check(script.state.plan, request)}
    assert planned(request).task(TaskId("S1.simmer")).start >= at("Thu 07:00")


def test_refused_delivery_stays_on_record_puts_nothing_on_hand_and_keeps_its_number() -> None:
    script = at_the_door()
    told = {**MILK, "outcome": "refused", "celsius": 9.0, "reason": "too warm", "supplier_lot": "D-119"}
    script.give("Wed 07:40", "receive_delivery", **told)
    event = came(script)
    assert (event.delivery, event.outcome, event.reason, event.celsius) == ("in-3", "refused", "too warm", 9.0)
    assert (event.quantity, event.use_by, event.place) == (None, None, None)
    assert event.verdict is not None
    assert event.verdict.status == "broken"
    assert SupplyLotId("in-3") not in script.state.pantry.lots
    script.give("Wed 07:50", "receive_delivery", **{**MILK, "celsius": 3.0})
    assert [delivery.delivery for delivery in script.state.pantry.deliveries] == ["in-1", "in-2", "in-3", "in-4"]
    assert script.state.pantry.lots[SupplyLotId("in-4")].quantity.value == 4.0


@pytest.mark.parametrize(
    ("more", "status"),
    [
        ({"ingredient": "oysters"}, "no recipe takes it"),
        ({"outcome": "refused", "reason": " "}, "why it is refused is missing"),
        ({"quantity": None}, "how much came is missing"),
        ({"quantity": "0 L"}, "how much came is missing"),
        ({"place": "cellar"}, "there is no place cellar"),
        ({"outcome": "short", "rest_at": at("Wed 07:40")}, "the rest would come in the past"),
        ({"expected": "9 kg"}, "recipes take it in L"),
        ({"use_by": at("Wed 07:40")}, "its use-by Wed 07:40 is past"),
    ],
)
def test_delivery_that_leaves_something_unsaid_or_wrong_is_refused(more: dict[str, object], status: str) -> None:
    script = at_the_door()
    assert script.refused("Wed 07:40", "receive_delivery", **{**MILK, "celsius": 3.0, **more}).status == status
    assert len(script.state.pantry.deliveries) == 2


def test_short_delivery_is_shared_out_in_the_plans_turn_and_the_rest_waits() -> None:
    # Two orders of sorbet in two runs of 4 kg damsons each; 5 kg came: enough for one of them.
    lines = [{"product": "damson-sorbet", "quantity": "4.8 L"}]
    orders = [
        {"id": "SAT", "customer": "Stall", "due": at("Sat 11:00"), "lines": lines},
        {"id": "SUN", "customer": "Café", "due": at("Sun 15:00"), "lines": lines},
    ]
    kitchen = small_kitchen(orders=orders, supplies=[DAMSONS])
    plan = planned(PlanRequest(kitchen=kitchen, now=kitchen.planning_start))
    script = in_a_planned_kitchen(plan, orders=orders, supplies=[DAMSONS])
    told = {"ingredient": "damsons", "quantity": "5 kg", "expected": "9 kg", "rest_at": at("Fri 18:00"), "person": WHO}
    script.give("Wed 09:55", "receive_delivery", outcome="short", **told)
    request = plan_request(script.state, at("Wed 09:55"))
    after = planned(request)
    starts = sorted(task.start for task in after.tasks if task.step == "simmer")
    assert starts[0] < at("Fri 18:00") <= starts[1]
    # The checker, which counts for itself, refuses both before the rest.
    early = tuple(
        t.model_copy(update={"start": at("Fri 16:00"), "end": at("Fri 16:30")}) if t.start == starts[1] else t
        for t in after.tasks
    )
    found = [v.says for v in check(after.model_copy(update={"tasks": early}), request) if v.rule == "supplies"]
    assert len(found) == 1
    assert "takes 8 of damsons, " in found[0]


def test_not_ripe_until_moves_the_work() -> None:
    script = at_the_door()
    script.give("Wed 09:00", "judge_ripeness", ingredient="damsons", ripe_at=at("Thu 09:00"), person=WHO)
    assert script.state.replan_reason == "damsons is not ripe until Thu 09:00"
    assert planned(plan_request(script.state, at("Wed 09:00"))).task(TaskId("S1.simmer")).start >= at("Thu 09:00")
    script.give("Wed 09:30", "judge_ripeness", ingredient="damsons", person=WHO)
    assert planned(plan_request(script.state, at("Wed 09:30"))).task(TaskId("S1.simmer")).start < at("Thu 09:00")


def test_new_allergen_needs_a_manager_and_reaches_every_batch_that_is_still_to_take_it() -> None:
    script = at_the_door()
    soy = {"ingredient": "whole milk", "by": "oat and soy drink", "allergens": ["Soy", "oats"], "reason": "no milk"}
    refusal = script.refused("Wed 07:40", "replace_ingredient", person=WHO, **soy)
    assert refusal.status == "it brings oats, soy into Custard base, Basil custard"
    script.give("Wed 07:40", "replace_ingredient", person="manager", **soy)
    assert script.state.plan is not None
    allergens = {batch.lot: batch.allergens for batch in script.state.plan.batches}
    # Milk stays: the label of what is planned never loses an allergen by this.
    assert allergens == {"C1": ("egg", "milk", "oats", "soy"), "B1": ("egg", "milk", "oats", "soy"), "S1": ()}
    assert script.state.pantry.swaps[-1].added == ("oats", "soy")
    assert script.state.pantry.swaps[-1].recipes == ("custard-base", "basil-custard")
    plan = planned(plan_request(script.state, at("Wed 07:40")))
    assert all(
        {"oats", "soy"} <= set(b.allergens) for b in plan.batches if b.recipe in ("custard-base", "basil-custard")
    )


def test_delivered_ingredient_has_what_the_recipes_name_and_what_it_came_with() -> None:
    script = at_the_door()
    milk = next(lot for lot in script.state.pantry.lots.values() if lot.ingredient == "whole milk")
    assert pantry_allergens(script.state, milk) == ("milk",)
    assert pantry_allergens(script.state, milk.model_copy(update={"allergens": ("soy",)})) == ("milk", "soy")


def test_other_allergens_do_not_reach_what_has_taken_the_old_ingredient() -> None:
    script = at_the_door()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    soy = {"ingredient": "whole milk", "by": "whole milk", "allergens": ["milk", "soy"], "reason": "new label"}
    script.give("Wed 08:05", "replace_ingredient", person="manager", **soy)
    assert script.state.plan is not None
    assert {b.lot: b.allergens for b in script.state.plan.batches}["C1"] == ("egg", "milk")


def test_lot_to_be_used_first_is_taken_by_itself_and_one_past_its_use_by_is_not() -> None:
    script = at_the_door()
    later = {**MILK, "celsius": 3.0, "quantity": "2 L", "use_by": at("Thu 12:00"), "supplier_lot": "D-120"}
    script.give("Wed 07:40", "receive_delivery", **later)
    script.give("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    uses = {
        (u.lot, u.quantity.value) for u in script.state.pantry.uses[TaskId("C1.cook")] if u.ingredient == "whole milk"
    }
    # 3 L: first what must be used by Thursday, then Sunday's.
    assert uses == {("in-3", 2.0), ("in-1", 1.0)}
    assert [lot.id for lot in script.state.pantry.open_lots("whole milk", at("Thu 08:00"))] == ["in-1"]
    assert [lot.id for lot in script.state.pantry.open_lots("egg yolk", at("Fri 13:00"))] == []


def test_start_taken_back_gives_ingredients_back_and_another_lot_is_one_act() -> None:
    script = at_the_door()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    assert script.state.pantry.left(SupplyLotId("in-1")) == pytest.approx(3.0)
    script.give("Wed 08:01", "undo", act=script.state.acts[-1].seq, person=WHO)
    assert script.state.pantry.left(SupplyLotId("in-1")) == pytest.approx(6.0)
    assert script.refused("Wed 08:02", "use_lot", task="C1.cook", lot="in-1").status == "waiting"
    assert "no such" in script.refused("Wed 08:02", "use_lot", task="C1.cook", lot="in-9").status


def test_drill_finds_everything_and_keeps_time_and_share() -> None:
    script = churned_and_tempered()
    script.give("Sat 10:51", "start_drill", lot="in-1", person="manager")
    drill = script.state.drills[next(iter(script.state.drills))]
    # 6 L of milk, 3 L of it in C1, C1 all in B1, 4.8 of B1's 4.9 L at the stall.
    shares = {item.id: round(item.share, 4) for item in drill.items}
    assert shares == {"in-1": 0.5, "B1": round(0.5 * 0.1 / 4.9, 4), "B1/SAT-STALL": round(0.5 * 4.8 / 4.9, 4)}
    assert "DRILL-1 on in-1 is running" in script.refused("Sat 10:52", "start_drill", lot="C1", person="manager").status
    script.give("Sat 10:55", "mark_drill", drill="DRILL-1", item="in-1", person="manager")
    script.give("Sat 10:56", "mark_drill", drill="DRILL-1", item="B1/SAT-STALL", found=False, person="manager")
    events = script.give("Sat 11:03", "end_drill", drill="DRILL-1", person="manager")
    assert [(getattr(e, "minutes", 0.0), round(getattr(e, "accounted", 0.0), 4)) for e in events] == [(12.0, 0.5)]
    assert script.refused("Sat 11:04", "end_drill", drill="DRILL-1", person="manager").status == "it is over"
