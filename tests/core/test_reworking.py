"""Rework: all allergens and the oldest date go along, the trace and the planner know of it.

That reworked food keeps its allergens and its date is common practice of the trade; no source is cited for it.
"""

from datetime import datetime
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import CommandId, LotCode, TaskId
from orchestrator.core.lives import Clocks
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.material import books
from orchestrator.core.models import PlanRequest
from orchestrator.core.planning import plan_request
from orchestrator.core.state import LotStatus
from orchestrator.core.views.trace import trace_view
from tests.core.balance import closes
from tests.core.script import Script, at_target, in_a_planned_kitchen
from tests.core.test_by_products import WHITES, cooked, leaving
from tests.fakes.kitchens import at, small_kitchen
from tests.planner.planned import planned

STOCK = {
    "lot": "B90",
    "recipe": "basil-custard",
    "quantity": "2 L",
    "made": at("Wed 05:00"),
    "use_by": at("Thu 20:00"),
    "place": "freezer",
    "allergens": ["hazelnut"],
}


def to_be_reworked() -> Script:
    """Wednesday 10:35: an old tub with hazelnut is to be reworked; sorbet S1 simmers, custard base C1 is planned."""
    kitchen = small_kitchen(stock=[STOCK])
    plan = planned(PlanRequest(kitchen=kitchen, now=kitchen.planning_start))
    script = in_a_planned_kitchen(plan, stock=[STOCK])
    script.give("Wed 10:30", "start_task", task="S1.simmer", person="early-cook")
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("B90"), at=script.now, reason="coarse"),))
    script.give("Wed 10:35", "decide_lot", lot="B90", decision="rework", reason="coarse", person="manager")
    assert script.state.lots[LotCode("B90")].status is LotStatus.REWORK
    return script


REWORK = {"lot": "B90", "into": "S1", "quantity": "1.5 L", "reason": "into the sorbet"}


def test_all_allergens_and_the_date_go_into_the_batch_and_a_manager_decides_about_new_ones() -> None:
    script = to_be_reworked()
    refusal = script.refused("Wed 10:40", "rework_into", person="early-cook", **REWORK)
    assert refusal.status == "it brings egg, hazelnut, milk into S1"
    script.give("Wed 10:40", "rework_into", person="manager", **REWORK)
    assert script.state.plan is not None
    batch = next(b for b in script.state.plan.batches if b.lot == "S1")
    assert (batch.allergens, batch.oldest) == (("egg", "hazelnut", "milk"), at("Thu 20:00"))
    # Also where no plan names the batch any more, as what it is in may still stand in the freezer.
    begun = script.state.begun[LotCode("S1")]
    assert (begun.allergens, begun.oldest) == (batch.allergens, batch.oldest)
    assert script.state.replan_reason == "B90 was reworked into S1"
    assert script.state.kitchen is not None
    clocks = Clocks(script.state.plan, script.state.kitchen, lambda t: None)
    assert clocks.use_by(LotCode("S1")) == at("Thu 20:00")


def test_trace_closes_through_rework_in_both_directions() -> None:
    script = to_be_reworked()
    script.give("Wed 10:40", "rework_into", person="manager", **REWORK)
    book = books(script.state)
    account = book.accounts["B90"]
    assert (account.taken, account.left, account.gap) == (1.5, 0.5, pytest.approx(0.0))
    assert (book.forward("B90"), book.back("S1")) == (("S1",), ("B90",))
    assert [(s.lot, s.into, s.at) for s in trace_view(script.state, "B90").forward] == [("B90", "S1", at("Wed 10:40"))]
    over = script.refused("Wed 10:41", "rework_into", person="manager", **{**REWORK, "quantity": "1 L"})
    assert over.status == "0.5 L of it are left"


def test_plan_that_follows_keeps_allergens_and_date_and_cleans_down_for_them() -> None:
    script = to_be_reworked()
    script.give("Wed 10:40", "rework_into", person="manager", **REWORK)
    request = plan_request(script.state, at("Wed 10:45"))
    plan = planned(request)
    batch = next(b for b in plan.batches if b.lot == "S1")
    assert (batch.allergens, batch.oldest) == (("egg", "hazelnut", "milk"), at("Thu 20:00"))
    churn = plan.task(TaskId("S1.churn"))
    assert churn.end <= at("Thu 20:00")
    # The custard after it has no hazelnut: a full clean between the two, which the checker asks for too.
    (after,) = (t for t in plan.tasks if t.equipment == "churn" and t.start > churn.start and t.step == "churn")
    (clean,) = (t for t in plan.tasks if t.equipment == "churn" and t.id.startswith("churn.clean"))
    assert churn.end <= clean.start <= clean.end <= after.start
    assert (clean.end - clean.start).seconds == 1200
    late = tuple(
        t.model_copy(update={"start": at("Thu 21:00"), "end": at("Thu 21:30")}) if t.id == churn.id else t
        for t in plan.tasks
    )
    rules = {v.rule for v in check(plan.model_copy(update={"tasks": late}), request)}
    assert "shelf life" in rules


def test_only_what_was_decided_goes_only_into_what_is_being_made() -> None:
    script = to_be_reworked()
    planned_only = script.refused("Wed 10:40", "rework_into", person="manager", **{**REWORK, "into": "C1"})
    assert (planned_only.thing, planned_only.status) == ("C1", "not begun")
    fine = script.refused("Wed 10:40", "rework_into", person="manager", **{**REWORK, "lot": "S1", "into": "S1"})
    assert fine.status == "nobody has decided to rework it"
    past = script.refused("Fri 10:40", "rework_into", person="manager", **REWORK)
    assert past.status.startswith("it was to be used by Thu")


def whites_to_be_reworked() -> Script:
    """Wednesday 08:50: whites of the base's eggs were on hold and are to be reworked; sorbet S1 simmers."""
    script = cooked()
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("C1-left-1"), at=script.now, reason="a shell in it"),))
    script.give("Wed 08:42", "decide_lot", lot="C1-left-1", decision="rework", reason="sieved", person="manager")
    script.give("Wed 08:45", "start_task", task="S1.simmer", person="early-cook")
    return script


def test_left_over_that_is_reworked_takes_its_allergens_and_its_date_along_and_its_books_close() -> None:
    script = whites_to_be_reworked()
    some = {"lot": "C1-left-1", "into": "S1", "quantity": "0.6 kg", "reason": "to clear the syrup"}
    assert script.refused("Wed 08:50", "rework_into", person="early-cook", **some).status == "it brings egg into S1"
    script.give("Wed 08:50", "rework_into", person="manager", **some)
    assert script.state.plan is not None
    batch = next(b for b in script.state.plan.batches if b.lot == "S1")
    assert ("egg" in batch.allergens, batch.oldest) == (True, at("Fri 07:00"))
    book = closes(script.state, script.log)
    account = book.accounts["C1-left-1"]
    assert (account.taken, account.left) == (pytest.approx(0.6), pytest.approx(0.3))
    assert [(part.into, part.at) for part in account.parts] == [("S1", at("Wed 08:50"))]
    over = script.refused("Wed 08:51", "rework_into", person="manager", **some)
    assert over.status == "0.3 kg of it are left"


@pytest.mark.parametrize(
    ("leave", "allergens", "until"),
    [
        # Whey is of the whole pot, and the old custard went into that; whites were parted from their eggs before it.
        ({"ingredient": "whey", "amount": "500 ml", "keeps": 6000}, ("egg", "hazelnut", "milk"), at("Thu 20:00")),
        (WHITES | {"keeps": 6000}, ("egg",), at("Sun 12:40")),
    ],
)
def test_what_is_left_of_a_pot_has_the_allergens_and_the_date_of_what_was_reworked_into_it(
    leave: dict[str, Any], allergens: tuple[str, ...], until: datetime
) -> None:
    recipes = [recipe.model_dump(mode="json") for recipe in leaving(small_kitchen(), leave)]
    script = in_a_planned_kitchen(recipes=recipes, stock=[STOCK])
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("B90"), at=script.now, reason="coarse"),))
    script.give("Wed 08:05", "decide_lot", lot="B90", decision="rework", reason="coarse", person="manager")
    script.give("Wed 08:10", "rework_into", person="manager", **{**REWORK, "into": "C1"})
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person="early-cook")
    (left,) = script.state.pantry.by_products()
    assert (left.allergens, left.use_by) == (allergens, until)
    # By the books both are in it: the trace asks nobody in which part of the pot.
    assert books(script.state).back(left.id) == ("C1", "B90")


def test_delivery_that_is_reworked_has_the_allergens_that_the_recipes_name_for_it() -> None:
    script = whites_to_be_reworked()
    milk = {"ingredient": "whole milk", "quantity": "2 L", "keep": "cold", "celsius": 3.0, "outcome": "accepted"}
    script.give("Wed 08:46", "receive_delivery", person="early-cook", **milk)
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("in-2"), at=script.now, reason="seal open"),))
    script.give("Wed 08:47", "decide_lot", lot="in-2", decision="rework", reason="boiled", person="manager")
    some = {"lot": "in-2", "into": "S1", "quantity": "1 L", "reason": "for a milk ice"}
    assert script.refused("Wed 08:50", "rework_into", person="early-cook", **some).status == "it brings milk into S1"
    script.give("Wed 08:50", "rework_into", person="manager", **some)
    assert script.state.plan is not None
    assert next(b for b in script.state.plan.batches if b.lot == "S1").allergens == ("milk",)


def test_rework_in_another_unit_or_of_no_such_lot_or_into_no_such_batch_is_refused() -> None:
    script = to_be_reworked()
    for more, status in (
        ({"quantity": "1 kg"}, "2 L of it are left"),
        ({"quantity": "0 L"}, "2 L of it are left"),
        ({"lot": "B99"}, "no such lot"),
        ({"into": "S9"}, "no such batch"),
        ({"into": "B90"}, "no such batch"),
    ):
        assert script.refused("Wed 10:40", "rework_into", person="manager", **{**REWORK, **more}).status == status
    assert script.refused("Wed 10:40", "rework_into", **REWORK).remedy == "say who you are"
    script.give("Wed 10:41", "report_problem", task="S1.simmer", what="quality", hold_lot=True, person="early-cook")
    refusal = script.refused("Wed 10:42", "rework_into", person="manager", **REWORK)
    assert (refusal.thing, refusal.status) == ("S1", "on hold or gone")
