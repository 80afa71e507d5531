"""Deviations: opened by what happens, followed forward through the food, closed when every lot is decided.

What is asked of a deviation (which limit, which lots, what was done by whom, what became of the food) is that of Codex
CXC 1-1969, HACCP: corrective actions and records; known from memory, the text was not seen.
"""

from typing import Any

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import ReplanWanted
from orchestrator.core.ids import CommandId, LotCode, TaskId
from orchestrator.core.lot_events import ActionTaken, DeviationClosed, LotDecided, LotHeld
from orchestrator.core.lot_trace import made_from, served
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.planning import plan_request
from orchestrator.core.state import LotStatus, TaskStatus
from tests.core.doubt_script import COUNTER, EARLY, LATE, MANAGER, churned, hold, only, tempering
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged, with_base_chilling
from tests.fakes.kitchens import at, small_kitchen

C1, B1, S1 = LotCode("C1"), LotCode("B1"), LotCode("S1")


def test_broken_ceiling_opens_a_deviation_with_the_text_that_applied_and_its_readings() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    readings = ((at("Wed 08:30"), 84.9), (at("Wed 08:31"), 86.2))
    verdict = LimitVerdict.model_validate(
        {
            "limit": "frozen-dessert-mix",
            "title": "Pasteurise a mix",
            "applied": "a code, 2022",
            "status": "broken",
            "tolerance_degrees": 0.5,
            "readings": readings,
        }
    )
    fact = {"probe": "hob-1-core", "equipment": "hob-1", "task": "C1.cook", "celsius": 86.2, "verdict": verdict}
    script.give("Wed 08:31", "record_fact", fact={**fact, "ceiling_broken_at": at("Wed 08:31")})
    deviation = only(script)
    assert (deviation.id, deviation.facts.cause, deviation.facts.safety, deviation.lots) == (
        "DEV-1",
        "limit broken",
        True,
        (C1,),
    )
    assert (deviation.facts.limit, deviation.facts.applied, deviation.facts.readings) == (
        "Pasteurise a mix",
        "a code, 2022",
        readings,
    )
    assert (deviation.facts.task, deviation.facts.person, deviation.open) == ("C1.cook", None, True)


def test_missed_safety_window_and_a_critical_step_left_out_open_one_each() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Sat 10:16", "tick")
    assert only(script).facts.cause == "window missed"
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "skip_task", task="C1.cook", reason="no gas", person=EARLY)
    assert (only(script).facts.cause, only(script).facts.safety) == ("step left out", True)


@pytest.mark.parametrize(("what", "safety"), [("quality", False), ("temperature", True), ("ingredient", False)])
def test_problem_report_opens_one_by_name(what: str, safety: bool) -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    hold(script, "Wed 10:40", "S1.simmer", what)
    facts = only(script).facts
    assert (facts.cause, facts.safety, facts.person, facts.reason) == ("problem", safety, EARLY, what)


def test_gap_too_long_to_judge_holds_the_lot_when_the_critical_step_ends_unless_somebody_measured_in_it() -> None:
    gap = (at("Wed 09:00"), at("Wed 09:50"))
    verdict = {"limit": "two-leg-cooling", "title": "Cool", "applied": "a code", "status": "not judged", "gap": gap}
    for by_hand, held in (("", True), ("Wed 09:20", False), ("Wed 10:00", True)):
        script = with_base_chilling(in_a_planned_kitchen())
        if by_hand:
            script.give(by_hand, "enter_temperature", task="C1.chill", celsius=12.0, person=EARLY)
        judged = LimitVerdict.model_validate({**verdict, "tolerance_degrees": 0.5})
        script.reads("ice-bath-core", "ice-bath", task="C1.chill", celsius=4, met_at=at("Wed 10:10"), verdict=judged)
        script.give("Wed 10:15", "finish_task", task="C1.chill", person=EARLY)
        assert (C1 in script.state.lots) is held
        assert [d.facts.cause for d in script.state.deviations.values()] == (["record gap"] if held else [])


def test_what_was_made_from_a_lot_in_doubt_is_in_doubt_too_and_who_was_served_is_named() -> None:
    script = tempering(in_a_planned_kitchen())
    script.give("Sat 10:40", "finish_task", task="SAT-STALL.B.temper", person=COUNTER)
    script.give("Sat 10:40", "start_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    script.give("Sat 10:50", "finish_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    events = script.give("Sat 12:00", "report_problem", task="C1.chill", what="temperature", hold_lot=True)
    assert [(e.lot, e.made_from) for e in script.last.events if isinstance(e, LotHeld)] == [(C1, None), (B1, C1)]
    assert [e.reason for e in events if isinstance(e, ReplanWanted)] == ["lot C1 went on hold"]
    assert (only(script).lots, only(script).facts.served) == ((C1, B1), ("SAT-STALL",))
    assert script.state.lots[B1].reason == "made from C1, which is on hold: temperature"


def test_what_has_not_begun_to_take_from_it_is_not_in_doubt() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    hold(script, "Wed 11:00", "C1.chill")
    assert (only(script).lots, set(script.state.lots)) == ((C1,), {C1})


def test_what_was_taken_of_a_lot_before_an_instant_can_be_left_out() -> None:
    """Its churn began on Thursday at 09:00."""
    state = churned(in_a_planned_kitchen()).state
    assert made_from(state, C1) == made_from(state, C1, at("Thu 09:00")) == (B1,)
    assert made_from(state, C1, at("Thu 09:01")) == ()


def test_start_taken_back_took_nothing() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=3.0, measured_at=at("Thu 08:59"))
    script.give("Thu 09:00", "start_task", task="B1.churn", person=EARLY)
    assert script.state.takings[TaskId("B1.churn")].lots == (C1,)
    script.give("Thu 09:01", "undo", act=script.state.acts[-1].seq, person=EARLY)
    assert script.state.takings == {}


def _second_look(script: Script, who: str, when: str) -> None:
    looked = {"deviation": "DEV-1", "act": "second look", "text": "looked at"}
    script.give(when, "take_action", person=who, **looked)


def test_release_past_a_safety_limit_asks_for_the_code_and_for_the_look_of_somebody_who_did_not_make_it() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    hold(script, "Wed 09:00", "C1.chill", "temperature")
    decided: dict[str, Any] = {"lot": "C1", "decision": "release", "reason": "probe was out of the food"}
    by_code = {"by_code": "FDA Food Code 2022, 3-501.14, by the inspector"}
    cook = script.refused("Wed 09:10", "decide_lot", person=EARLY, **decided, **by_code)
    assert (cook.code, cook.remedy) == (RefusalCode.NOT_ALLOWED, "keep it on hold and ask Manager")
    assert script.refused("Wed 09:10", "decide_lot", person=MANAGER, **decided).code is RefusalCode.BAD_VALUE
    alone = script.refused("Wed 09:11", "decide_lot", person=MANAGER, **decided, **by_code)
    assert alone.remedy.startswith("let Late cook or Counter hand look at it first")
    # Who made it is told at once that their look would not count; that of who decides is on record and counts for none.
    looked = {"deviation": "DEV-1", "act": "second look", "text": "looked at"}
    made = script.refused("Wed 09:12", "take_action", person=EARLY, **looked)
    assert (made.code, made.status) == (
        RefusalCode.NOT_ALLOWED,
        "Early cook worked on C1: their second look at it would not count",
    )
    assert made.remedy.startswith("let Late cook or Counter hand or Manager look at it")
    _second_look(script, MANAGER, "Wed 09:12")
    assert script.refused("Wed 09:12", "decide_lot", person=MANAGER, **decided, **by_code) == alone
    _second_look(script, LATE, "Wed 09:13")
    (event, _) = script.give("Wed 09:14", "decide_lot", person=MANAGER, **decided, **by_code)
    assert isinstance(event, LotDecided)
    assert (event.second, event.by_code, event.person) == (LATE, by_code["by_code"], MANAGER)
    assert only(script).disposition(C1) is not None


def test_in_a_crew_of_two_the_other_looks_and_alone_the_words_must_do() -> None:
    for crew, second in (((EARLY, MANAGER), EARLY), ((MANAGER,), None)):
        script = in_a_planned_kitchen()
        kitchen = script.kitchen.model_copy(update={"crew": tuple(c for c in script.kitchen.crew if c.id in crew)})
        script = in_a_planned_kitchen(crew=kitchen.crew)
        script.give("Wed 08:00", "start_task", task="C1.cook", person=crew[0])
        script.give("Wed 08:10", "report_problem", task="C1.cook", what="temperature", hold_lot=True, person=crew[0])
        if second is not None:
            _second_look(script, second, "Wed 08:11")
        decided = {"lot": "C1", "decision": "release", "reason": "fine", "by_code": "local code 4"}
        (event, _) = script.give("Wed 08:12", "decide_lot", person=MANAGER, **decided)
        assert isinstance(event, LotDecided)
        assert event.second == second


def test_anybody_named_may_discard_and_a_matter_of_quality_needs_no_second_look() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    hold(script, "Wed 09:00", "C1.chill")
    script.give("Wed 09:10", "decide_lot", lot="C1", decision="release", reason="tasted", person=MANAGER)
    hold(script, "Wed 09:20", "C1.chill")
    script.give("Wed 09:30", "decide_lot", lot="C1", decision="discard", reason="lumps", person=EARLY)
    assert script.state.lots[C1].status is LotStatus.DISCARDED


def test_deviation_is_closed_only_when_each_lot_is_decided_and_something_was_done() -> None:
    script = churned(in_a_planned_kitchen())
    hold(script, "Thu 12:00", "C1.chill")
    close = {"deviation": "DEV-1", "person": MANAGER, "note": "new thermometer"}
    assert script.refused("Thu 12:01", "close_deviation", **close).status == "nobody has decided about C1, B1"
    script.give("Thu 12:02", "decide_lot", lot="C1", decision="discard", reason="in doubt", person=MANAGER)
    assert script.refused("Thu 12:03", "close_deviation", **close).status == "nobody has decided about B1"
    script.give("Thu 12:04", "decide_lot", lot="B1", decision="rework", reason="into a sauce", person=MANAGER)
    assert script.refused("Thu 12:05", "close_deviation", **close).status == "no corrective action is on record"
    act = {"deviation": "DEV-1", "act": "probe checked", "person": EARLY, "lot": "C1"}
    assert isinstance(script.give("Thu 12:06", "take_action", **act)[0], ActionTaken)
    nobody = script.refused("Thu 12:07", "close_deviation", deviation="DEV-1")
    assert nobody.code is RefusalCode.NOT_ALLOWED
    assert isinstance(script.give("Thu 12:07", "close_deviation", **close)[0], DeviationClosed)
    assert [d.decision for d in only(script).dispositions] == ["discard", "rework"]
    again = script.refused("Thu 12:08", "take_action", **act)
    assert (again.code, again.status) == (RefusalCode.WRONG_STATE, "closed")


@pytest.mark.parametrize(
    ("what", "status"),
    [
        ({"deviation": "DEV-9", "act": "moved"}, "no such deviation"),
        ({"deviation": "DEV-1", "act": "other"}, "there are no words"),
        ({"deviation": "DEV-1", "act": "second look", "text": " "}, "there are no words"),
        ({"deviation": "DEV-1", "act": "moved", "lot": "S1"}, "lot S1 is not in it"),
    ],
)
def test_action_that_says_nothing_or_of_something_else_is_refused_with_a_remedy(what: Any, status: str) -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    hold(script, "Wed 09:00", "C1.chill")
    refusal = script.refused("Wed 09:01", "take_action", person=EARLY, **what)
    assert (refusal.status, bool(refusal.remedy)) == (status, True)


def test_problem_taken_back_takes_its_deviation_back() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    hold(script, "Wed 09:00", "C1.chill")
    assert set(script.state.lots) == {C1}
    script.give("Wed 09:05", "undo", act=script.state.acts[-1].seq, person=EARLY)
    assert (script.state.lots, only(script).withdrawn, only(script).open) == ({}, True, False)


def test_second_reason_while_on_hold_opens_a_deviation_of_its_own_and_the_decision_counts_for_both() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    hold(script, "Wed 09:00", "C1.chill")
    missed = ProbeFact.model_validate(
        {"probe": "ice-bath-core", "equipment": "ice-bath", "task": "C1.chill", "cooling": "first leg missed"}
    )
    script.give("Wed 10:46", "record_fact", fact=missed)
    assert [(d.facts.cause, d.facts.safety) for d in script.state.deviations.values()] == [
        ("problem", False),
        ("limit broken", True),
    ]
    plain = {"lot": "C1", "decision": "release", "reason": "tastes good", "person": MANAGER}
    assert "safety limit" in script.refused("Wed 10:50", "decide_lot", **plain).status
    script.give("Wed 10:55", "decide_lot", lot="C1", decision="discard", reason="too slow", person=EARLY)
    assert all(d.disposition(C1) is not None for d in script.state.deviations.values())


def test_lot_held_in_a_log_without_deviations_has_one_from_the_next_command_on() -> None:
    script = in_a_planned_kitchen()
    script.record(CommandId("old"), (LotHeld(lot=S1, at=at("Wed 07:00"), reason="found open"),))
    script.give("Wed 07:10", "tick")
    assert (only(script).facts.cause, only(script).facts.reason, only(script).lots) == (
        "held before",
        "found open",
        (S1,),
    )


def test_held_food_is_neither_begun_nor_handed_over_and_discarded_food_is_to_be_tempered_anew() -> None:
    script = tempering(in_a_planned_kitchen())
    hold(script, "Sat 10:30", "B1.churn")
    script.give("Sat 10:40", "finish_task", task="SAT-STALL.B.temper", person=COUNTER)
    refusal = script.refused("Sat 10:40", "start_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    assert refusal.status == "lot B1 is on hold: quality"
    script.give("Sat 10:41", "decide_lot", lot="B1", decision="discard", reason="off", person=COUNTER)
    assert script.of("SAT-STALL.B.temper").status is TaskStatus.WAITING
    # The planner is told: nothing of the order has begun, and the lot is lost.
    request = plan_request(script.state, script.now)
    assert request.lost_lots == (B1,)
    assert not [a for a in request.actuals if a.task.startswith("SAT-STALL")]


def test_handing_over_that_has_begun_does_not_end_with_food_on_hold() -> None:
    script = tempering(in_a_planned_kitchen())
    script.give("Sat 10:40", "finish_task", task="SAT-STALL.B.temper", person=COUNTER)
    script.give("Sat 10:40", "start_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    hold(script, "Sat 10:45", "C1.chill", "temperature")
    refusal = script.refused("Sat 10:50", "finish_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    assert refusal.status == "lot B1 is on hold: made from C1, which is on hold: temperature"


def test_order_that_took_a_delivery_itself_is_named_among_those_that_were_served() -> None:
    recipes = [recipe.model_dump(mode="json") for recipe in small_kitchen().recipes]
    custard = next(recipe for recipe in recipes if recipe["code"] == "B")
    temper = next(step for step in custard["steps"] if step["id"] == "temper")
    temper["takes"] = [{"ingredient": "wafers", "amount": "0.5 kg"}]
    script = churned(in_a_planned_kitchen(recipes=recipes))
    wafers = {"ingredient": "wafers", "quantity": "2 kg", "outcome": "accepted", "place": "freezer"}
    script.give("Thu 10:00", "receive_delivery", person=MANAGER, **wafers)
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person=COUNTER)
    bought = (LotCode("in-1"),)
    assert served(script.state, bought) == ()
    script.give("Sat 10:40", "finish_task", task="SAT-STALL.B.temper", person=COUNTER)
    script.give("Sat 10:40", "start_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    script.give("Sat 10:50", "finish_task", task="SAT-STALL.B.hand-over", person=COUNTER)
    assert served(script.state, bought) == ("SAT-STALL",)
    assert served(script.state, (LotCode("in-2"),)) == ()
