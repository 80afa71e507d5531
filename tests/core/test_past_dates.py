"""Food past its date of which something is left: who is asked what, how often, and what then may still be done with it.

Past a use-by food is deemed unsafe: Regulation (EU) No 1169/2011, Article 24(1); past a best-before it may have lost
properties, which is quality: Article 2(2)(r). Codex CXS 1-1985, section 2, tells the two apart likewise. That many lots
in one place are one alarm follows ANSI/ISA-18.2: an alarm asks for an action, and one action needs no ten alarms. All
from memory.
"""

from dataclasses import replace
from typing import Any

import pytest

from orchestrator.core.alarms import conditions
from orchestrator.core.calls import calls_anybody
from orchestrator.core.due import next_due
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import AlarmEscalated, AlarmRaised
from orchestrator.core.ids import AlarmId, CommandId, EquipmentId, LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.material import books
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.models.calls import CallPlan
from orchestrator.core.state import LotStatus
from tests.core.balance import closes
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.core.test_by_products import cooked
from tests.fakes.kitchens import at, small_kitchen

COOK, MANAGER = "early-cook", "manager"
FRIDGE = AlarmId("past_use_by:fridge")
BEST = AlarmId("past_best_before:freezer")


def base(lot: str, use_by: str, place: str = "fridge") -> dict[str, Any]:
    told = {"lot": lot, "recipe": "custard-base", "quantity": "1.5 L", "made": at("Wed 05:00"), "place": place}
    return told | {"use_by": at(use_by)}


def tub(lot: str = "B90", **more: Any) -> dict[str, Any]:
    """Hardened custard at its best for a day, made on Wednesday at five."""
    told = {"lot": lot, "recipe": "basil-custard", "quantity": "2 L", "made": at("Wed 05:00"), "place": "freezer"}
    return told | more


def with_best_before() -> list[dict[str, Any]]:
    recipes = [recipe.model_dump(mode="json") for recipe in small_kitchen().recipes]
    return [{**recipe, "best_before": 1440} if recipe["id"] == "basil-custard" else recipe for recipe in recipes]


def asked(script: Script, when: str) -> dict[AlarmId, AlarmFacts]:
    found = conditions(script.state, script.facts, at(when))
    kinds = {AlarmKind.PAST_USE_BY, AlarmKind.PAST_BEST_BEFORE}
    return {alarm: facts for alarm, facts in found.items() if facts.kind in kinds}


def test_base_past_its_use_by_is_asked_about_with_lot_place_and_amount_until_it_is_discarded() -> None:
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 12:00")])
    assert asked(script, "Thu 11:59") == {}
    assert next_due(script.state, at("Thu 11:59")) <= at("Thu 12:00")  # type: ignore[operator]
    facts = asked(script, "Thu 12:00")[FRIDGE]
    assert (facts.priority, facts.title, facts.lot, facts.equipment) == (
        Priority.NOTICE, "Custard base", "C90", "fridge"
    )  # fmt: skip
    assert (facts.since, facts.stations, facts.helps) == (at("Thu 12:00"), ("stove",), (Help.THROW_AWAY,))
    assert facts.missed  # so it stands before a best-before, which is no miss
    (one,) = facts.past
    assert (one.lot, one.name, str(one.left), one.until) == ("C90", "Custard base", "1.5 L", at("Thu 12:00"))
    # A cook may do it alone, at once and without a hold before it: it leaves the books, which close.
    script.give("Thu 12:05", "decide_lot", lot="C90", decision="discard", reason="past its use-by", person=COOK)
    assert asked(script, "Thu 12:06") == {}
    account = books(script.state).accounts["C90"]
    assert (account.left, account.lost) == (0.0, pytest.approx(1.5))
    closes(script.state, script.log)


def test_count_that_finds_nothing_ends_it_too_and_what_was_never_dated_is_not_asked_about() -> None:
    undated = {key: value for key, value in tub().items() if key != "use_by"}
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 12:00"), undated])
    assert list(asked(script, "Sat 12:00")) == [FRIDGE]
    script.give("Sat 12:00", "count_stock", lot="C90", counted="0 L", reason="poured away on Friday", person=COOK)
    assert asked(script, "Sat 12:01") == {}


def test_ten_lots_in_one_fridge_are_one_alarm_which_is_told_again_for_one_more_and_not_for_one_less() -> None:
    stock = [base(f"C9{n}", "Thu 12:00") for n in range(9)] + [base("C99", "Thu 13:00")]
    script = in_a_planned_kitchen(stock=stock)
    facts = asked(script, "Thu 12:30")
    assert list(facts) == [FRIDGE]
    assert (facts[FRIDGE].title, facts[FRIDGE].lot, len(facts[FRIDGE].past)) == ("Fridge", None, 9)

    def told(when: str) -> list[str]:
        script.give(when, "tick")
        events = [event for event in script.last.events if isinstance(event, AlarmRaised | AlarmEscalated)]
        return [event.kind for event in events if event.alarm == FRIDGE]

    assert told("Thu 12:30") == ["alarm_raised"]
    assert told("Thu 12:45") == []
    script.give("Thu 12:50", "decide_lot", lot="C90", decision="discard", reason="past its use-by", person=COOK)
    assert told("Thu 12:51") == []
    assert told("Thu 13:00") == ["alarm_escalated"]
    assert [one.lot for one in script.state.alarms[FRIDGE].facts.past] == [f"C9{n}" for n in range(1, 10)]


def test_it_calls_nobody_by_the_shipped_policy_for_nothing_gets_worse_by_the_morning() -> None:
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 02:00")])
    script.give("Thu 02:00", "tick")
    assert not calls_anybody(script.state.alarms[FRIDGE], CallPlan())


def test_past_its_best_before_the_manager_keeps_it_with_a_reason_and_is_not_asked_again() -> None:
    script = in_a_planned_kitchen(recipes=with_best_before(), stock=[tub()])
    assert asked(script, "Thu 04:59") == {}
    facts = asked(script, "Thu 05:00")[BEST]
    assert (facts.lot, facts.missed, facts.helps) == ("B90", False, (Help.JUDGE_QUALITY, Help.THROW_AWAY))
    keep = {"lot": "B90", "decision": "release", "reason": "tasted: as it should be"}
    refusal = script.refused("Thu 08:00", "decide_lot", person=COOK, **keep)
    assert (refusal.status, refusal.remedy) == (
        "Early cook may discard it, not release it", "keep it on hold and ask Manager"
    )  # fmt: skip
    events = script.give("Thu 08:00", "decide_lot", person=MANAGER, **keep)
    assert [event.kind for event in events] == ["lot_decided"]  # no plan is asked for: nothing has changed for it
    assert asked(script, "Sat 12:00") == {}
    assert script.state.lots[LotCode("B90")].status is LotStatus.FREE


def test_past_its_best_before_anybody_may_discard_it() -> None:
    script = in_a_planned_kitchen(recipes=with_best_before(), stock=[tub()])
    script.give("Thu 08:00", "decide_lot", lot="B90", decision="discard", reason="ice crystals", person=COOK)
    assert asked(script, "Thu 08:01") == {}


def test_past_its_use_by_nobody_may_keep_or_rework_it_and_its_best_before_is_not_asked_about_besides() -> None:
    script = in_a_planned_kitchen(recipes=with_best_before(), stock=[tub(use_by=at("Fri 05:00"))])
    assert list(asked(script, "Thu 05:00")) == [BEST]
    script.give("Thu 08:00", "decide_lot", lot="B90", decision="release", reason="tasted", person=MANAGER)
    assert list(asked(script, "Fri 05:00")) == ["past_use_by:freezer"]
    for decision in ("release", "rework"):
        told = {"lot": "B90", "decision": decision, "reason": "a pity", "person": MANAGER}
        refusal = script.refused("Fri 05:01", "decide_lot", **told)
        assert (refusal.code, refusal.status, refusal.remedy) == (
            RefusalCode.NOT_ALLOWED, "past its use-by", "discard it"
        )  # fmt: skip


def test_lot_within_its_dates_is_put_on_hold_before_it_is_discarded() -> None:
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 12:00")])
    told = {"lot": "C90", "decision": "discard", "reason": "too much", "person": COOK}
    assert script.refused("Thu 11:00", "decide_lot", **told).remedy == "put it on hold first, by reporting a problem"


def test_what_is_left_of_a_batch_past_its_shelf_life_is_asked_about_where_it_stands() -> None:
    """The base keeps for three days from Wednesday 10:15; it ages in the fridge, and nobody has taken of it."""
    script = with_base_aged(in_a_planned_kitchen())
    assert asked(script, "Sat 10:14") == {}
    facts = asked(script, "Sat 10:15")[FRIDGE]
    assert (facts.lot, str(facts.past[0].left)) == ("C1", "5 L")


def test_lot_on_hold_is_asked_about_once() -> None:
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 12:00")])
    held = {"lot": "C90", "at": at("Thu 09:00"), "reason": "smells"}
    script.record(CommandId("hold"), (LotHeld.model_validate(held),))
    assert asked(script, "Thu 12:00") == {}
    script.give("Thu 12:10", "decide_lot", lot="C90", decision="discard", reason="smells", person=COOK)
    assert asked(script, "Thu 12:11") == {}


@pytest.mark.parametrize("decision", ["release", "rework"])
@pytest.mark.parametrize("code", ["", "Ordinance 12"])
def test_hold_is_no_way_round_a_use_by(decision: str, code: str) -> None:
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 12:00")])
    held = {"lot": "C90", "at": at("Thu 09:00"), "reason": "smells"}
    script.record(CommandId("hold"), (LotHeld.model_validate(held),))
    told = {"lot": "C90", "decision": decision, "reason": "only the lid", "by_code": code, "person": MANAGER}
    refusal = script.refused("Thu 12:00", "decide_lot", **told)
    assert (refusal.code, refusal.status, refusal.remedy) == (
        RefusalCode.NOT_ALLOWED, "past its use-by", "discard it"
    )  # fmt: skip
    assert script.state.lots[LotCode("C90")].status is LotStatus.ON_HOLD


def test_release_before_the_use_by_does_not_outlast_it() -> None:
    script = in_a_planned_kitchen(stock=[base("C90", "Thu 12:00")])
    held = {"lot": "C90", "at": at("Thu 09:00"), "reason": "smells"}
    script.record(CommandId("hold"), (LotHeld.model_validate(held),))
    script.give("Thu 11:59", "decide_lot", lot="C90", decision="release", reason="only the lid", person=MANAGER)
    assert asked(script, "Thu 11:59") == {}
    assert list(asked(script, "Thu 12:00")) == [FRIDGE]


def test_delivery_past_its_use_by_is_asked_about_like_food_made_here() -> None:
    script = in_a_planned_kitchen()
    milk = {"ingredient": "whole milk", "quantity": "2 L", "keep": "cold", "celsius": 3.0, "place": "fridge"}
    script.give("Wed 07:00", "receive_delivery", outcome="accepted", person=COOK, use_by=at("Thu 12:00"), **milk)
    assert asked(script, "Thu 11:59") == {}
    facts = asked(script, "Thu 12:00")[FRIDGE]
    assert (facts.title, facts.lot, str(facts.past[0].left)) == ("whole milk", "in-1", "2 L")
    script.give("Thu 12:01", "decide_lot", lot="in-1", decision="discard", reason="past its use-by", person=COOK)
    assert asked(script, "Thu 12:02") == {}


def test_lots_whose_places_the_kitchen_no_longer_has_are_one_alarm_and_none_of_them_is_forgotten() -> None:
    """One stood in no place, two in fridges that were sold since: one alarm must not hide behind the other."""
    script = in_a_planned_kitchen()
    milk = {"ingredient": "whole milk", "quantity": "2 L", "keep": "cold", "celsius": 3.0, "outcome": "accepted"}
    for _ in range(3):
        script.give("Wed 07:00", "receive_delivery", person=COOK, use_by=at("Thu 12:00"), **milk)
    sold = {"in-2": EquipmentId("old-fridge"), "in-3": EquipmentId("older-fridge")}
    pantry = script.state.pantry
    lots = {name: lot.model_copy(update={"place": sold.get(name)}) for name, lot in pantry.lots.items()}
    script.state = replace(script.state, pantry=replace(pantry, lots=lots))
    assert {alarm: facts.lots for alarm, facts in asked(script, "Thu 12:00").items()} == {
        "past_use_by:nowhere": ("in-1", "in-2", "in-3")
    }


def test_delivery_that_was_used_up_is_not_asked_about() -> None:
    script = in_a_planned_kitchen()
    yolk = {"ingredient": "egg yolk", "quantity": "0.6 kg", "keep": "cold", "celsius": 3.0, "place": "fridge"}
    script.give("Wed 07:00", "receive_delivery", outcome="accepted", person=COOK, use_by=at("Thu 12:00"), **yolk)
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    assert asked(script, "Thu 12:00") == {}


def test_left_over_and_delivery_in_one_fridge_are_one_alarm() -> None:
    script = cooked()  # eggs until Friday at seven, and the whites of half of them
    facts = asked(script, "Fri 07:00")[FRIDGE]
    assert [(one.lot, one.name) for one in facts.past] == [("C1-left-1", "egg white"), ("in-1", "eggs")]


def test_step_does_not_begin_with_food_past_its_use_by_even_before_anybody_has_looked() -> None:
    """The churn takes base C1, made on Wednesday, which keeps for three days."""
    script = with_base_aged(in_a_planned_kitchen())
    refusal = script.refused("Sat 10:20", "start_task", task="B1.churn", person=COOK, override_reason="hurry")
    assert (refusal.code, refusal.status, refusal.remedy) == (
        RefusalCode.NOT_ALLOWED, "lot C1 was to be used by Sat 10:15", "discard lot C1"
    )  # fmt: skip
