"""By-products by hand: what a step leaves, what it inherits, who may take of it, and that the books close over it."""

from typing import Any

import pytest

from orchestrator.core.alarms import conditions, look
from orchestrator.core.by_product_events import ByProductLeft
from orchestrator.core.by_products import open_lots
from orchestrator.core.ids import CommandId, LotCode, SupplyLotId
from orchestrator.core.ingredient_flow import flows
from orchestrator.core.left_over import aside
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.material import books
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.models.stock import IngredientUse
from orchestrator.core.quantities import Quantity
from orchestrator.core.recall import gone_of, items_of
from orchestrator.core.stock_events import IngredientUsed
from orchestrator.core.views.labels import label_view
from orchestrator.core.views.lots import lot_views
from orchestrator.core.views.trace import trace_view
from tests.core.balance import closes
from tests.core.script import Script, at_target, in_a_planned_kitchen
from tests.fakes.kitchens import at, small_kitchen

WHO = "early-cook"
WHITES = {"ingredient": "egg white", "amount": "900 g", "of": "eggs", "keeps": 2880, "kept_in": "fridge", "room": "1 L"}


def leaving(kitchen: Kitchen, leave: dict[str, Any]) -> tuple[Recipe, ...]:
    """The kitchen's recipes, with whole eggs in the base of which something is left."""
    recipes = []
    for recipe in kitchen.recipes:
        told = recipe.model_dump(mode="json")
        if recipe.id == "custard-base":
            cook = told["steps"][0]
            cook["takes"][1] = {"ingredient": "eggs", "amount": "1.5 kg", "allergens": ["egg"]}
            cook["leaves"] = [leave]
        recipes.append(Recipe.model_validate(told))
    return tuple(recipes)


def cooked(leave: dict[str, Any] = WHITES, **finish: Any) -> Script:
    """The base is cooked from eggs that were received, whose date is Friday noon; 08:40 on Wednesday."""
    script = in_a_planned_kitchen(recipes=[r.model_dump(mode="json") for r in leaving(small_kitchen(), leave)])
    eggs = {"ingredient": "eggs", "quantity": "3 kg", "supplier_lot": "E-7", "place": "fridge"}
    script.give("Wed 07:00", "receive_delivery", outcome="accepted", person=WHO, use_by=at("Fri 07:00"), **eggs)
    script.give("Wed 08:00", "start_task", task="C1.cook", person=WHO)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=WHO, **finish)
    return script


def left(script: Script) -> ByProductLeft:
    return next(r.event for r in script.log if isinstance(r.event, ByProductLeft))


def test_step_that_ends_leaves_a_lot_with_the_date_and_the_allergens_of_what_it_is_a_part_of() -> None:
    event = left(cooked())
    assert (event.lot, event.made_from, event.expected.value, event.weighed) == ("C1-left-1", "C1", 0.9, None)
    # It keeps until Friday 08:40; the eggs do until Friday 07:00.
    assert (event.use_by, event.place, event.room) == (at("Fri 07:00"), "fridge", 1.0)
    assert event.allergens == ("egg",)


def test_by_product_of_the_whole_pot_has_all_its_allergens_and_one_without_a_date_its_own_life() -> None:
    whey = {"ingredient": "whey", "amount": "500 ml", "keeps": 600, "allergens": ["soy"]}
    event = left(cooked(whey))
    assert (event.allergens, event.use_by) == (("egg", "milk", "soy"), at("Wed 18:40"))


def test_weight_at_the_end_or_later_puts_the_expected_right_and_nothing_left_is_no_lot() -> None:
    script = cooked(left={"egg white": "840 g"})
    assert books(script.state).accounts["C1-left-1"].start == pytest.approx(0.84)
    script.give("Wed 09:00", "weigh_by_product", lot="C1-left-1", weighed="800 g", person=WHO)
    account = books(script.state).accounts["C1-left-1"]
    assert (account.start, account.left, account.how) == (0.8, 0.8, "left over")
    assert cooked(left={"egg white": "0 kg"}).state.pantry.by_products() == ()
    refusal = cooked().refused("Wed 09:00", "weigh_by_product", lot="C1-left-1", weighed="2 L", person=WHO)
    assert refusal.remedy == "an amount in kg, 0 or more"


def test_weight_of_no_by_product_or_less_than_was_used_of_it_or_by_nobody_is_refused() -> None:
    script = cooked()
    told = {"lot": "C1-left-1", "weighed": "300 g", "person": WHO}
    assert script.refused("Wed 09:00", "weigh_by_product", **{**told, "person": None}).remedy == "say who you are"
    for lot in ("in-1", "C9-left-1"):
        assert script.refused("Wed 09:00", "weigh_by_product", **{**told, "lot": lot}).status == "no such by-product"
    use = IngredientUse(
        lot=SupplyLotId("C1-left-1"), ingredient="egg white", quantity=Quantity.model_validate("0.4 kg")
    )
    used = {"task": "S1.simmer", "at": at("Wed 08:50"), "person": WHO, "ingredients": ("egg white",), "uses": (use,)}
    script.record(CommandId("use"), (IngredientUsed.model_validate(used),))
    refusal = script.refused("Wed 09:00", "weigh_by_product", **told)
    assert (refusal.status, refusal.remedy) == (
        "0.4 kg of it has been used", "at least that, or count what is there now"
    )  # fmt: skip
    script.give("Wed 09:00", "weigh_by_product", **{**told, "weighed": "400 g"})
    assert script.state.pantry.left(SupplyLotId("C1-left-1")) == pytest.approx(0.0)


def test_whites_of_a_pot_that_is_thrown_away_are_expected_no_more() -> None:
    script = cooked()
    script.give("Wed 08:41", "undo", act=script.state.acts[-1].seq, person=WHO)

    def expected() -> list[str]:
        seen = look(script.state, {}, script.now)
        assert seen is not None
        found = flows(seen).items()
        return [s.kind for (name, _), flow in found if name == "egg white" for s in flow.sources]

    assert expected() == ["to be left"]
    script.give("Wed 08:42", "report_problem", task="C1.cook", what="quality", hold_lot=True, person=WHO)
    script.give("Wed 08:43", "decide_lot", lot="C1", decision="discard", reason="burnt", person="manager")
    assert expected() == []


def test_finishing_with_a_weight_of_something_it_does_not_leave_is_refused() -> None:
    script = cooked()
    script.give("Wed 08:41", "undo", act=script.state.acts[-1].seq, person=WHO)
    refusal = script.refused("Wed 08:42", "finish_task", task="C1.cook", person=WHO, left={"whey": "1 kg"})
    assert (refusal.status, refusal.remedy) == ("it leaves no whey", "one of egg white")
    refusal = script.refused("Wed 08:42", "finish_task", task="C1.cook", person=WHO, left={"egg white": "1 L"})
    assert refusal.remedy == "an amount in kg, 0 or more"


def test_end_taken_back_takes_its_by_product_back_unless_somebody_has_used_of_it() -> None:
    script = cooked()
    script.give("Wed 08:41", "undo", act=script.state.acts[-1].seq, person=WHO)
    assert script.state.pantry.by_products() == ()
    script = cooked()
    counted = {"lot": "C1-left-1", "counted": "500 g", "reason": "half went into a meringue"}
    act = script.state.acts[-1].seq
    script.give("Wed 08:50", "count_stock", person=WHO, **counted)
    refusal = script.refused("Wed 08:51", "undo", act=act, person=WHO)
    assert refusal.status == "egg white that it left (C1-left-1) was used since"


def test_trace_goes_from_the_eggs_through_the_base_to_the_whites_and_back_and_shares_add_up() -> None:
    script = cooked()
    book = closes(script.state, script.log)
    assert book.forward("in-1") == ("C1", "C1-left-1")
    assert book.back("C1-left-1") == ("C1", "in-1")
    view = trace_view(script.state, "C1-left-1")
    assert [(step.lot, step.amount.value) for step in view.back if step.lot] == [("C1", 0.9), ("in-1", 1.5)]
    # 3 L of milk, counted as 3 kg, and 1.5 kg of eggs went in: 0.9 kg of 4.5 kg is a fifth.
    assert aside(script.state)["C1-left-1"] == pytest.approx(0.2)
    # Half of the delivery went into the base: a fifth of that is in the whites.
    assert book.shares("in-1") == pytest.approx({"in-1": 0.5, "C1": 0.4, "C1-left-1": 0.1})
    items = items_of(script.state, "in-1")
    assert items is not None
    assert {item.id for item in items} == {"in-1", "C1", "C1-left-1"}
    assert gone_of(script.state, "in-1") == 0.0


def test_source_on_hold_holds_what_it_left_which_then_is_offered_to_nobody() -> None:
    script = cooked()
    assert [lot.id for lot in open_lots(script.state, "egg white", at("Wed 09:00"))] == ["C1-left-1"]
    script.give("Wed 09:00", "report_problem", task="C1.cook", what="quality", hold_lot=True, person=WHO)
    assert script.state.lots[LotCode("C1-left-1")].status.value == "on hold"
    assert open_lots(script.state, "egg white", at("Wed 09:00")) == ()
    view = next(v for v in lot_views(script.state, {}, at("Wed 09:00")) if v.made_from)
    assert (view.lot, view.status, view.where) == ("C1-left-1", "on hold", "Fridge")
    assert label_view(script.state, {}, at("Wed 09:00"), LotCode("C1-left-1")).blocked.startswith("on hold")
    script.give("Wed 09:10", "decide_lot", lot="C1-left-1", decision="discard", reason="smells", person=WHO)
    account = books(script.state).accounts["C1-left-1"]
    assert (account.lost, account.left) == (pytest.approx(0.9), 0.0)
    closes(script.state, script.log)


def test_what_a_held_lot_leaves_is_on_hold_from_the_start() -> None:
    script = cooked()
    script.give("Wed 08:41", "undo", act=script.state.acts[-1].seq, person=WHO)
    script.give("Wed 08:42", "report_problem", task="C1.cook", what="quality", hold_lot=True, person=WHO)
    events = script.give("Wed 08:45", "finish_task", task="C1.cook", person=WHO)
    held = [event for event in events if isinstance(event, LotHeld)]
    assert [(event.lot, event.made_from) for event in held] == [("C1-left-1", "C1")]


def test_label_says_what_it_is_when_it_was_left_and_until_when_it_may_be_used() -> None:
    label = label_view(cooked().state, {}, at("Wed 09:00"), LotCode("C1-left-1"))
    assert (label.name, label.made_at, label.use_by) == ("egg white", at("Wed 08:40"), at("Fri 07:00"))
    assert (label.allergens, label.keep_at_most_c, label.blocked) == (("egg",), 5.0, "")


def test_past_its_date_somebody_is_asked_to_throw_it_away_and_it_is_offered_no_more() -> None:
    script = cooked()
    after = at("Fri 07:01")
    assert open_lots(script.state, "egg white", after) == ()
    # The eggs that it came from have the same date.
    assert "past_use_by:fridge" not in conditions(script.state, {}, at("Fri 06:59"))
    facts = conditions(script.state, {}, after)["past_use_by:fridge"]
    assert (facts.kind, facts.lots, facts.since) == (AlarmKind.PAST_USE_BY, ("C1-left-1", "in-1"), at("Fri 07:00"))
    script.give("Fri 07:02", "decide_lot", lot="C1-left-1", decision="discard", reason="past its date", person=WHO)
    assert conditions(script.state, {}, after)["past_use_by:fridge"].lots == ("in-1",)


def test_free_by_product_may_be_thrown_away_but_not_released_or_reworked() -> None:
    script = cooked()
    told = {"lot": "C1-left-1", "decision": "release", "reason": "why not", "person": "manager"}
    assert script.refused("Wed 09:00", "decide_lot", **told).remedy == "put it on hold first, by reporting a problem"
    script.give("Wed 09:00", "decide_lot", **(told | {"decision": "discard"}))


def test_whites_that_nobody_wants_stay_spare_in_the_flow_of_ingredients() -> None:
    script = cooked()
    seen = look(script.state, {}, at("Wed 09:00"))
    assert seen is not None
    flow = next(flow for (name, _), flow in flows(seen).items() if name == "egg white")
    here = [source for source in flow.sources if source.kind == "left over"]
    assert [(source.lot, source.spare, source.use_by) for source in here] == [("C1-left-1", 0.9, at("Fri 07:00"))]
    assert script.state.pantry.lots[SupplyLotId("C1-left-1")].weighed is False
