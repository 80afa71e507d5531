"""Lots in doubt and the planner: what orders lose is made again, and no plan uses what is on hold, wherever it lies."""

import pytest

from orchestrator.core.check import check
from orchestrator.core.events import PlanAdopted
from orchestrator.core.ids import CommandId, LotCode, OrderId
from orchestrator.core.models import Batch, Peg, Plan, PlanRequest
from orchestrator.core.planning import plan_request
from orchestrator.core.quantities import Quantity, Unit
from tests.core.doubt_script import answer, churned, hold, two_freezers
from tests.core.script import in_a_planned_kitchen
from tests.fakes.kitchens import at, small_kitchen
from tests.planner.planned import planned

STALL = OrderId("SAT-STALL")


def _sources(plan: Plan, consumer: str) -> set[str]:
    return {peg.lot for peg in plan.pegs if peg.consumer == consumer}


def test_base_in_doubt_takes_what_was_churned_from_it_out_of_the_plan_and_both_are_made_again() -> None:
    script = churned(in_a_planned_kitchen())
    hold(script, "Thu 09:40", "C1.chill", "temperature")
    request = plan_request(script.state, script.now)
    assert set(request.held_lots) == {"C1", "B1"}
    assert request.previous is not None
    stale = check(request.previous, request)
    assert {v.rule for v in stale} >= {"held lot"}
    plan = planned(request)
    assert _sources(plan, STALL) & {"B1"} == set()
    outlook = next(o for o in plan.outlooks if o.order == STALL)
    assert outlook.met
    new = {b.lot for b in plan.batches} - {b.lot for b in request.previous.batches}
    assert {lot[0] for lot in new} == {"B", "C"}


@pytest.mark.parametrize("decision", ["rework", "discard"])
def test_reworked_or_discarded_lot_goes_back_to_the_planner_and_a_plan_is_wanted(decision: str) -> None:
    script = churned(in_a_planned_kitchen())
    hold(script, "Thu 09:40", "B1.churn")
    script.give("Thu 09:45", "decide_lot", lot="B1", decision=decision, reason="lumps", person="manager")
    assert script.state.replan_reason == f"lot B1: {decision}"
    request = plan_request(script.state, script.now)
    assert request.lost_lots == ("B1",)
    assert _sources(planned(request), STALL) & {"B1"} == set()


def test_order_is_planned_anew_when_its_food_is_discarded_after_tempering() -> None:
    script = churned(in_a_planned_kitchen())
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person="counter-hand")
    hold(script, "Sat 10:30", "B1.churn")
    script.give("Sat 10:31", "decide_lot", lot="B1", decision="discard", reason="off", person="manager")
    plan = planned(plan_request(script.state, script.now))
    again = [task for task in plan.tasks if task.order == STALL]
    served = _sources(plan, STALL)
    assert served == {"B2"}
    outlook = next(o for o in plan.outlooks if o.order == STALL)
    # Nobody who can churn is there before Sunday 06:00; then it hardens for 4 h and more, and is tempered again.
    assert [task.step for task in again] == ["temper", "hand-over"]
    assert outlook.met
    assert outlook.late_min == 1440


def test_lot_on_hand_in_a_store_is_not_planned_with_while_on_hold_and_is_once_released() -> None:
    stock = [{"lot": "B9", "recipe": "basil-custard", "quantity": "4.8 L", "made": at("Wed 00:00"), "place": "freezer"}]
    kitchen = small_kitchen(stock=stock)
    request = PlanRequest(kitchen=kitchen, now=at("Wed 06:00"))
    plan = planned(request)
    assert _sources(plan, STALL) == {"B9"}
    held = request.model_copy(update={"held_lots": (LotCode("B9"),)})
    assert {v.rule for v in check(plan, held)} >= {"held lot"}
    other = planned(held)
    assert "B9" not in _sources(other, STALL)
    assert _sources(other, STALL)


def test_plan_that_only_promises_food_on_hold_without_a_tie_to_it_is_refused() -> None:
    script = in_a_planned_kitchen()
    request = plan_request(script.state, script.now)
    plan = planned(request)
    batch = Batch.model_validate({**plan.batches[0].model_dump(), "lot": "Z1"})
    peg = Peg(lot=LotCode("Z1"), order=STALL, quantity=Quantity(value=1.0, unit=Unit.LITRE))
    slipped = plan.model_copy(update={"batches": (*plan.batches, batch), "pegs": (*plan.pegs, peg)})
    held = request.model_copy(update={"held_lots": (LotCode("Z1"),)})
    says = {v.says for v in check(slipped, held) if v.rule == "held lot"}
    assert says == {"SAT-STALL is promised food of Z1, which is on hold or lost"}


def test_moved_lot_is_planned_where_it_is_and_taken_from_there() -> None:
    script = two_freezers()
    script.give("Thu 14:21", "stop_machine", equipment="freezer", reason="compressor", until=at("Sun 18:00"))
    assert answer(script, "Thu 14:22", "moved", to="freezer-2").events
    request = plan_request(script.state, script.now)
    plan = planned(request)
    stays = {task.id: task.equipment for task in plan.tasks if task.lot == "B1" and task.stay is not None}
    assert set(stays.values()) == {"freezer-2"}
    assert next(o for o in plan.outlooks if o.order == STALL).late_min == 0
    script.record(CommandId("moved"), (PlanAdopted(plan=plan, at=script.now, person=None),))
    assert {script.of(stay).equipment for stay in stays} == {"freezer-2"}
    script.give("Thu 14:30", "tick")
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person="counter-hand")


def test_batch_declares_what_the_very_lot_in_it_has_beyond_its_recipe() -> None:
    """Base with pistachio reworked into it: what is churned from it declares that, or the plan is refused."""
    base = {
        "lot": "C9",
        "recipe": "custard-base",
        "quantity": "6 L",
        "made": at("Wed 00:00"),
        "use_by": at("Sun 12:00"),
    }
    lot = {**base, "place": "fridge", "allergens": ["pistachio"]}
    request = PlanRequest(kitchen=small_kitchen(stock=[lot]), now=at("Wed 06:00"))
    plan = planned(request)
    taking = next(peg.batch for peg in plan.pegs if peg.lot == "C9")
    batch = next(b for b in plan.batches if b.lot == taking)
    assert batch.allergens == ("egg", "milk", "pistachio")
    hidden = batch.model_copy(update={"allergens": ("egg", "milk")})
    batches = tuple(hidden if b.lot == taking else b for b in plan.batches)
    assert {v.rule for v in check(plan.model_copy(update={"batches": batches}), request)} >= {"allergens"}
