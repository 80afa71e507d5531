"""Deciding that a step is over: what was measured, targets, stays that begin."""

import pytest

from orchestrator.core.effects import AskForPlan
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import ReplanWanted, TaskFinished, TaskStarted
from orchestrator.core.ids import CrewId, EquipmentId, LotCode, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Measure
from orchestrator.core.state import LotStatus
from tests.core.script import Script, at_target, cook, in_a_planned_kitchen, with_base_aged, with_base_chilling
from tests.fakes.kitchens import at, small_kitchen

EARLY = CrewId("early-cook")
COOK, CHILL, AGE = TaskId("C1.cook"), TaskId("C1.chill"), TaskId("C1.age.B1")
CHURN, HARDEN = TaskId("B1.churn"), TaskId("B1.harden.SAT-STALL")


def test_finish_starts_the_stay_that_it_fills() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    at_target(script, COOK, "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task=COOK)
    script.give("Wed 08:45", "start_task", task=CHILL)
    at_target(script, CHILL, "ice-bath-core", "ice-bath", 4)
    events = script.give("Wed 10:15", "finish_task", task=CHILL, person=EARLY)
    assert events == (
        TaskFinished(task=CHILL, at=at("Wed 10:15"), person=EARLY),
        TaskStarted(task=AGE, at=at("Wed 10:15"), person=EARLY, equipment=EquipmentId("fridge")),
    )


def test_finish_five_minutes_off_plan_asks_for_a_plan() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    events = script.give("Wed 11:05", "finish_task", task="S1.simmer")
    assert events == (
        TaskFinished(task=TaskId("S1.simmer"), at=at("Wed 11:05"), person=None),
        ReplanWanted(at=at("Wed 11:05"), reason="S1.simmer ended 5 min late"),
    )
    assert script.last.effects == (AskForPlan("S1.simmer ended 5 min late"),)
    assert script.state.replan_reason == "S1.simmer ended 5 min late"


def test_finish_four_minutes_off_plan_asks_for_nothing() -> None:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 10:30", "Wed 10:56")
    assert script.last.effects == ()


def test_finish_a_stay_by_hand_is_refused() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert script.refused("Thu 09:00", "finish_task", task=AGE).status == "a stay ends by itself"


def test_finish_without_the_measured_value_is_refused() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Thu 09:00", "start_task", task=CHURN)
    refusal = script.refused("Thu 09:30", "finish_task", task=CHURN)
    assert (refusal.code, refusal.status) == (RefusalCode.BAD_VALUE, "volume_l is missing")


@pytest.mark.parametrize("value", [0.0, -1.0, float("inf"), float("nan")])
def test_finish_with_an_impossible_value_is_refused(value: float) -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Thu 09:00", "start_task", task=CHURN)
    refusal = script.refused("Thu 09:30", "finish_task", task=CHURN, measured={"volume_l": value})
    assert refusal.code is RefusalCode.BAD_VALUE


def test_finish_with_an_unlikely_value_and_a_reason_is_taken() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Thu 09:00", "start_task", task=CHURN)
    script.give("Thu 09:30", "finish_task", task=CHURN, measured={"volume_l": 0.9}, override_reason="most was spilt")
    assert script.of(CHURN).measured == {Measure.VOLUME_L: 0.9}


def test_finish_with_the_target_not_met_needs_a_reason_and_holds_the_lot() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    script.reads("hob-1-core", "hob-1", task=COOK, celsius=79.4)
    refusal = script.refused("Wed 08:40", "finish_task", task=COOK, person=EARLY)
    says = "target at least 82 °C for 1 min was not met, last 79.4 °C"
    assert (refusal.code, refusal.status) == (RefusalCode.GATE_SHUT, says)
    events = script.give("Wed 08:40", "finish_task", task=COOK, person=EARLY, override_reason="pan boiled over")
    assert events[1] == LotHeld(
        lot=LotCode("C1"), at=at("Wed 08:40"), reason=f"Cook the custard base: {says}", task=COOK
    )
    assert script.state.lots[LotCode("C1")].status is LotStatus.ON_HOLD
    refusal = script.refused("Wed 08:45", "start_task", task=CHILL)
    assert refusal.remedy == "decide about the lot first"


def test_finish_with_the_target_met_by_hand_for_as_long_as_asked_is_taken() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    script.give("Wed 08:38", "enter_temperature", task=COOK, celsius=82.5)
    assert script.refused("Wed 08:38", "finish_task", task=COOK).code is RefusalCode.GATE_SHUT
    script.give("Wed 08:40", "enter_temperature", task=COOK, celsius=83.0)
    script.give("Wed 08:40", "finish_task", task=COOK)
    assert script.state.lots == {}


def measured_when_chilled() -> Script:
    """The base in the ice bath of a kitchen whose recipe asks for the core temperature at the end of chilling."""
    recipes = []
    for recipe in small_kitchen().recipes:
        steps = [
            s.model_copy(update={"measure": Measure.TEMPERATURE_C}) if s.id == "chill" else s for s in recipe.steps
        ]
        recipes.append(recipe.model_copy(update={"steps": tuple(steps)}))
    return with_base_chilling(in_a_planned_kitchen(recipes=tuple(recipes)))


def test_finish_with_the_temperature_measured_at_the_end_meets_its_target() -> None:
    script = measured_when_chilled()
    script.give("Wed 10:15", "finish_task", task=CHILL, measured={"temperature_c": 4.2})
    assert (script.of(CHILL).measured, script.state.lots) == ({Measure.TEMPERATURE_C: 4.2}, {})


def test_finish_with_food_measured_too_warm_is_refused_whatever_the_probe_says() -> None:
    script = measured_when_chilled()
    at_target(script, CHILL, "ice-bath-core", "ice-bath", 4)
    refusal = script.refused("Wed 10:15", "finish_task", task=CHILL, measured={"temperature_c": 7.5})
    assert (refusal.code, refusal.status, refusal.remedy) == (
        RefusalCode.GATE_SHUT,
        "target at most 5 °C was not met, last 7.5 °C",
        "go on until it is met and measure again, or name a person and a reason",
    )


def test_end_before_its_start_names_the_clock_that_is_wrong() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    tapped = script.refused("Wed 08:10", "finish_task", task="C1.cook", person="early-cook", tapped_at=at("Wed 07:30"))
    ours = script.refused("Wed 07:30", "finish_task", task="C1.cook", person="early-cook")
    assert tapped.status == ours.status == "it was started Wed 08:00, after that"
    assert tapped.remedy == "check the screen's clock"
    assert ours.remedy == "set the computer's clock right, or end it once it is that late again"
