"""Places that fail with food in them: one decision about each lot, and nothing is refrozen unseen."""

from collections.abc import Callable

import pytest

from orchestrator.core.deviations import undecided
from orchestrator.core.deviations.places import still_good_c
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import MachineReturned, Recorded, ReplanWanted
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import LotCode, ProbeId
from orchestrator.core.lot_events import LotAnswered
from orchestrator.core.planning import plan_request
from orchestrator.core.state import LotStatus, State
from orchestrator.kitchen.shipped import shipped_limits
from tests.core.doubt_script import (
    COUNTER,
    EARLY,
    MANAGER,
    answer,
    churned,
    cold_again,
    failing,
    hold,
    only,
    tempering,
    two_freezers,
    warm,
)
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen

B1, C1 = LotCode("B1"), LotCode("C1")


def test_store_warm_past_its_grace_asks_about_every_lot_in_it_and_holds_none() -> None:
    script = churned(in_a_planned_kitchen())
    warm(script, "Thu 14:00")
    script.give("Thu 14:19", "tick")
    assert script.state.deviations == {}
    script.give("Thu 14:20", "tick")
    facts = only(script).facts
    assert (facts.cause, facts.asked, facts.equipment, facts.lots) == ("store warm", True, "freezer", (B1,))
    assert facts.readings == ((at("Thu 09:30"), -9.0),)
    assert (script.state.lots, undecided(script.state, only(script))) == ({}, (B1,))


def test_softened_food_is_not_refrozen_silently() -> None:
    script = failing()
    cold_again(script, "Thu 14:00", "Thu 15:30")
    script.give("Thu 15:31", "record_fact", fact=script.facts[ProbeId("freezer-air")])
    assert only(script).until == at("Thu 15:30")
    # The air is cold again, and still nobody has said what becomes of the lot.
    assert undecided(script.state, only(script)) == (B1,)
    refusal = script.refused("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person=COUNTER)
    assert "asked about" in refusal.status
    # 90 min in air of −9 °C, a lag of 30 min: −9 − 6 e^−3 = −9.3 °C at most.
    assert only(script).core_at_most_c == pytest.approx(-9.2987, abs=1e-4)
    kept = answer(script, "Sat 10:21", "kept")
    assert kept.status.startswith("may have warmed to -9.3 °C")
    assert kept.remedy == "measure its middle by hand: at most -15 °C; else put it on hold or discard it"
    assert script.refused("Sat 10:21", "close_deviation", deviation="DEV-1", person=MANAGER).status


def test_food_measured_hard_is_kept_and_may_be_used() -> None:
    script = failing()
    script.give("Thu 14:25", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-15.5, person=EARLY)
    # A minute later it is at most −9 − 6.5 e^(−1/30) = −15.29 °C, by the same arithmetic still hard.
    events = answer(script, "Thu 14:26", "kept").events
    assert isinstance(events[0], LotAnswered)
    cold_again(script, "Thu 14:00", "Thu 15:00")
    script.give("Thu 15:01", "record_fact", fact=script.facts[ProbeId("freezer-air")])
    assert undecided(script.state, only(script)) == ()
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person=COUNTER)


def test_reading_long_before_the_air_came_back_does_not_count_as_one_after_it() -> None:
    script = failing()
    script.give("Thu 14:25", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-15.5, person=EARLY)
    cold_again(script, "Thu 14:00", "Thu 16:00")
    script.give("Thu 16:01", "record_fact", fact=script.facts[ProbeId("freezer-air")])
    assert answer(script, "Thu 16:02", "kept").status.startswith("may have warmed to")


def test_food_measured_soft_goes_on_hold_by_itself_and_only_a_disposition_settles_it() -> None:
    script = failing()
    script.give("Thu 14:25", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-9.5, person=EARLY)
    assert script.state.lots[B1].status is LotStatus.ON_HOLD
    assert len(script.state.deviations) == 1
    assert answer(script, "Thu 14:26", "kept").remedy == "release, rework or discard it on the page of lots"
    script.released("Thu 14:30", "B1", "still as hard as when it went in")
    assert undecided(script.state, only(script)) == ()


def test_lot_on_hold_again_after_its_release_is_to_be_decided_again() -> None:
    script = failing()
    answer(script, "Thu 14:25", "on hold", reason="soft at the edge")
    script.released("Thu 14:30", "B1", "hard in the middle")
    assert undecided(script.state, only(script)) == ()
    hold(script, "Thu 14:40", "B1.harden.SAT-STALL")
    assert script.state.lots[B1].status is LotStatus.ON_HOLD
    assert undecided(script.state, only(script)) == (B1,)


def test_lot_on_hold_again_for_a_reason_of_its_own_is_to_be_decided_there_alone() -> None:
    script = failing()
    script.give("Thu 14:25", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-9.5, person=EARLY)
    script.released("Thu 14:30", "B1", "still as hard as when it went in")
    hold(script, "Thu 14:40", "B1.harden.SAT-STALL")
    place, problem = script.state.deviations.values()
    assert (undecided(script.state, place), undecided(script.state, problem)) == ((), (B1,))


@pytest.mark.parametrize(("what", "status"), [("on hold", LotStatus.ON_HOLD), ("discarded", LotStatus.DISCARDED)])
def test_lot_in_a_warm_store_is_held_or_thrown_away_and_the_planner_is_told(what: str, status: LotStatus) -> None:
    script = failing()
    events = answer(script, "Thu 14:25", what, reason="soft at the edge").events
    assert script.state.lots[B1].status is status
    assert [e for e in events if isinstance(e, ReplanWanted)]
    assert (only(script).answers[-1].answer, len(script.state.deviations)) == (what, 1)


@pytest.mark.parametrize(
    ("high", "limits", "good"),
    [(-20.0, True, -15.0), (-20.0, False, -20.0), (-12.0, True, -12.0), (5.0, True, 5.0)],
    ids=["hardened to −15 °C", "no limit of hardening", "a warmer freezer", "a fridge"],
)
def test_food_still_counts_as_kept_up_to_what_it_was_hardened_to(high: float, limits: bool, good: float) -> None:
    """−15 °C in the middle is practice of the trade, as the shipped limit says."""
    kitchen = small_kitchen(limits=shipped_limits().limits if limits else ())
    freezer = next(e for e in kitchen.equipment if e.id == "freezer")
    assert freezer.holds is not None
    place = freezer.model_copy(update={"holds": freezer.holds.model_copy(update={"high": high})})
    assert still_good_c(kitchen, place) == good


def test_discarding_needs_a_reason_and_a_name() -> None:
    script = failing()
    assert answer(script, "Thu 14:25", "discarded").status == "there is no reason"
    assert answer(script, "Thu 14:25", "kept", person=None).code is RefusalCode.NOT_ALLOWED
    assert answer(script, "Thu 14:25", "kept", equipment="fridge").code is RefusalCode.WRONG_STATE


def test_lot_is_moved_to_a_store_as_cold_with_room_and_the_planner_is_told_where_it_is() -> None:
    script = two_freezers()
    assert answer(script, "Thu 14:22", "moved", to="fridge").remedy == "one of freezer-2"
    events = answer(script, "Thu 14:22", "moved", to="freezer-2").events
    assert [e.reason for e in events if isinstance(e, ReplanWanted)] == ["lot B1 was moved to freezer-2"]
    stay = next(a for a in plan_request(script.state, script.now).actuals if a.task == "B1.harden.SAT-STALL")
    assert stay.equipment == "freezer-2"
    assert undecided(script.state, only(script)) == ()


def test_store_without_room_or_with_a_failure_of_its_own_takes_nothing() -> None:
    script = two_freezers("4 L")
    nowhere = answer(script, "Thu 14:22", "moved", to="freezer-2")
    assert nowhere.remedy == "there is no such place: keep it, put it on hold or discard it"
    script = two_freezers()
    script.give("Thu 14:22", "stop_machine", equipment="freezer-2", reason="belt")
    assert answer(script, "Thu 14:23", "moved", to="freezer-2").code is RefusalCode.BAD_VALUE


def test_freezer_that_fails_again_asks_again_about_what_was_kept() -> None:
    script = failing()
    script.give("Thu 14:25", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-15.5, person=EARLY)
    answer(script, "Thu 14:26", "kept")
    cold_again(script, "Thu 14:00", "Thu 15:00")
    script.give("Thu 15:01", "record_fact", fact=script.facts[ProbeId("freezer-air")])
    warm(script, "Thu 17:00")
    script.give("Thu 17:20", "tick")
    assert (len(script.state.deviations), undecided(script.state, only(script))) == (1, (B1,))
    assert [a.answer for a in only(script).answers] == ["kept"]


def test_machine_stopped_with_food_in_it_asks_and_one_without_does_not() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Wed 11:00", "stop_machine", equipment="churn", reason="belt", person=EARLY)
    assert script.state.deviations == {}
    script.give("Wed 11:00", "stop_machine", equipment="fridge", reason="fuse", person=EARLY)
    facts = only(script).facts
    assert (facts.cause, facts.safety, facts.lots, facts.equipment) == ("machine stopped", False, (C1,), "fridge")
    assert facts.reason == "Fridge stopped: fuse"
    # Its air is still cold: it may be kept without a reading of the food.
    told = {"lot": "C1", "equipment": "fridge", "answer": "kept", "person": EARLY}
    script.give("Wed 11:05", "answer_lot", **told)
    still = script.refused("Wed 11:06", "close_deviation", deviation="DEV-1", person=EARLY)
    assert still.status == "it goes on: Fridge stopped: fuse"
    script.give("Wed 11:30", "machine_back", equipment="fridge", person=EARLY)
    assert only(script).until == at("Wed 11:30")


def test_store_silent_for_too_long_asks_only_about_what_has_been_in_it_as_long() -> None:
    script = churned(in_a_planned_kitchen())
    script.reads("freezer-air", "freezer", celsius=-18.0, silent_since=at("Thu 09:10"))
    script.give("Thu 09:59", "tick")  # the tubs came in at 09:30
    assert script.state.deviations == {}
    script.give("Thu 10:00", "tick")
    assert (only(script).facts.cause, only(script).lots) == ("record gap", (B1,))
    assert answer(script, "Thu 10:01", "kept").status.startswith("nobody knows how warm it became")
    script.give("Thu 10:02", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-16.0, person=EARLY)
    assert answer(script, "Thu 10:03", "kept").events


def test_silence_that_the_limit_of_the_food_allows_is_shorter_than_ours_and_the_limit_is_named() -> None:
    """Two-leg cooling allows 20 min between readings, where we take 30 for food without a limit."""
    recipes = [r.model_dump(mode="json") for r in small_kitchen().recipes]
    for step in (step for recipe in recipes for step in recipe["steps"] if step["id"] == "harden"):
        step["limit"] = {"id": "two-leg-cooling"}
    script = churned(in_a_planned_kitchen(recipes=recipes, limits=shipped_limits().limits))
    script.reads("freezer-air", "freezer", celsius=-18.0, silent_since=at("Thu 09:10"))
    script.give("Thu 09:49", "tick")  # the tubs came in at 09:30
    assert script.state.deviations == {}
    script.give("Thu 09:50", "tick")
    facts = only(script).facts
    assert (facts.cause, facts.limit) == ("record gap", "Cool cooked food in two legs")


@pytest.mark.parametrize("story", [failing, two_freezers, lambda: tempering(in_a_planned_kitchen())])
def test_replay_of_the_log_gives_the_same_state(story: Callable[[], Script]) -> None:
    script = story()
    state = State()
    for recorded in script.log:
        read = Recorded.model_validate_json(recorded.model_dump_json())
        state = evolve(state, read)
    assert (state.deviations, state.lots, state.takings, state.tasks) == (
        script.state.deviations,
        script.state.lots,
        script.state.takings,
        script.state.tasks,
    )


def test_power_cut_stops_every_cold_store_that_works_and_its_end_brings_back_those_only() -> None:
    script = churned(in_a_planned_kitchen())
    script.give("Thu 12:00", "stop_machine", equipment="fridge", reason="fuse", person=EARLY)
    script.give("Thu 13:00", "power_cut", person=EARLY)
    assert {e: s.reason for e, s in script.state.machines.items()} == {"fridge": "fuse", "freezer": "power cut"}
    assert (only(script).lots, only(script).facts.equipment) == ((B1,), "freezer")
    assert script.refused("Thu 13:01", "power_cut", person=EARLY).status == "every store is stopped already"
    back = script.give("Thu 13:30", "power_cut", over=True, person=EARLY)
    assert [(e.equipment, e.at, e.person) for e in back if isinstance(e, MachineReturned)] == [
        ("freezer", at("Thu 13:30"), EARLY)
    ]
    assert set(script.state.machines) == {"fridge"}
    assert script.refused("Thu 13:31", "power_cut", over=True, person=EARLY).status == "no power cut is on record"
