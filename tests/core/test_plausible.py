"""A temperature typed in the other unit is told and asked about; what fits is taken without a word.

41 °F = 5 °C and 0 °F = −18 °C are printed pairs (FDA Food Code 2022, 3-501.16; 180 °F beside 82 °C, arithmetic)."""

from dataclasses import replace
from typing import Any

import pytest

from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models.health import HealthFinding
from orchestrator.core.models.recipe import Gate, Target
from tests.core.doubt_script import churned
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged, with_base_chilling
from tests.core.stock_script import at_the_door
from tests.fakes.kitchens import at, small_kitchen

STUCK = HealthFinding(sign="stuck", since=at("Wed 08:00"), amount=30.0, limit=20.0, unit="minutes")


def _asked(celsius: float, task: str = "C1.chill", celsius_there: float | None = None) -> tuple[str, float | None]:
    script = with_base_chilling(in_a_planned_kitchen())
    if task.startswith("C1.age"):
        script = with_base_aged(in_a_planned_kitchen())
    if celsius_there is not None:
        script.reads("ice-bath-core", "ice-bath", task="C1.chill", measured_at=script.now, celsius=celsius_there)
    when = script.now
    outcome = script.try_(when, "enter_temperature", task=task, celsius=celsius)
    code = getattr(outcome, "code", None)
    return "" if code is None else str(code.value), getattr(outcome, "meant", None)


@pytest.mark.parametrize(
    ("celsius", "asked"),
    [(4.0, ("", None)), (25.0, ("", None)), (41.0, ("doubtful", 5.0)), (95.0, ("", None)), (135.0, ("doubtful", None))],
    ids=["at its target", "on its way", "41 °F is 5 °C", "just from the pan", "hotter than any mix"],
)
def test_chill_asks_about_what_only_another_unit_explains(celsius: float, asked: tuple[str, float | None]) -> None:
    assert _asked(celsius) == asked


def test_probe_in_the_food_that_says_the_same_leaves_nothing_to_ask() -> None:
    assert _asked(41.0, celsius_there=43.0) == ("", None)


def test_probe_in_the_food_tells_the_unit_apart() -> None:
    assert _asked(60.0, celsius_there=16.0) == ("doubtful", 15.6)


def test_reading_by_hand_before_makes_one_on_its_way_plausible() -> None:
    """40 °F would be 4.4 °C: without what was measured before, it is asked about."""
    script = with_base_chilling(in_a_planned_kitchen())
    script.give("Wed 09:10", "enter_temperature", task="C1.chill", celsius=55.0)
    script.give("Wed 09:30", "enter_temperature", task="C1.chill", celsius=40.0)
    assert [celsius for _, celsius in script.of("C1.chill").hand_readings] == [55.0, 40.0]


def test_fridge_stay_asks_about_38_degrees() -> None:
    """38 °F is 3.3 °C."""
    assert _asked(38.0, "C1.age.B1") == ("doubtful", 3.3)


def test_doubtful_reading_changes_nothing_and_passes_once_somebody_is_sure() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    refusal = script.refused(script.now, "enter_temperature", task="C1.chill", celsius=41.0)
    assert refusal.code is RefusalCode.DOUBTFUL
    assert refusal.status == "41 °C does not fit; read in °F it would be 5 °C"
    script.give(script.now, "enter_temperature", task="C1.chill", celsius=41.0, sure=True)
    assert [celsius for _, celsius in script.of("C1.chill").hand_readings] == [41.0]


def _answer(script: Script, task: str, celsius: float) -> tuple[str, float | None]:
    outcome = script.try_(script.now, "enter_temperature", task=task, celsius=celsius)
    code = getattr(outcome, "code", None)
    return "" if code is None else str(code.value), getattr(outcome, "meant", None)


def _first(script: Script, task: str, celsius: float) -> tuple[str, float | None]:
    """As the first reading: one that was taken before would make others plausible."""
    return _answer(replace(script), task, celsius)


def test_fahrenheit_kitchen_asks_about_what_was_read_in_celsius() -> None:
    """4 °C is 39.2 °F, arithmetic. What is typed as 4 there comes as 4 °F, −15.6 °C."""
    script = with_base_chilling(in_a_planned_kitchen(temperature_unit="F"))
    refusal = script.refused(script.now, "enter_temperature", task="C1.chill", celsius=(4.0 - 32.0) / 1.8)
    assert (refusal.status, refusal.meant) == ("4 °F does not fit; read in °C it would be 39.2 °F", 39.2)
    assert refusal.remedy == "say which unit the thermometer shows"
    hot = script.refused(script.now, "enter_temperature", task="C1.chill", celsius=125.0)
    assert (hot.status, hot.meant) == ("257 °F is hotter than this food can be", None)
    assert hot.remedy == "look at the thermometer again; if it is so, say that it is"
    assert _answer(script, "C1.chill", 5.0) == ("", None)


def test_pan_asks_about_180_degrees_and_not_about_what_it_warms_through() -> None:
    """180 °F is 82.2 °C, the target of the custard: FDA Food Code 2022 prints neither pair; arithmetic."""
    cooking = in_a_planned_kitchen()
    cooking.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    assert [_first(cooking, "C1.cook", celsius) for celsius in (83.0, 60.0, 99.0, 180.0)] == [
        ("", None),
        ("", None),
        ("", None),
        ("doubtful", 82.2),
    ]


def test_freezer_asks_about_nought_degrees() -> None:
    """0 °F is −18 °C."""
    hardening = churned(in_a_planned_kitchen())
    assert [_first(hardening, "B1.harden.SAT-STALL", celsius) for celsius in (-18.0, -12.0, 0.0)] == [
        ("", None),
        ("", None),
        ("doubtful", -17.8),
    ]


def test_before_the_start_what_the_gate_asks_is_compared_with() -> None:
    """39 °F is 3.9 °C; the churn takes base of at most 4 °C."""
    aged = with_base_aged(in_a_planned_kitchen())
    assert [_first(aged, "B1.churn", celsius) for celsius in (3.5, 8.0, 39.0)] == [
        ("", None),
        ("", None),
        ("doubtful", 3.9),
    ]


def test_reading_before_the_step_began_says_nothing_of_what_to_expect_in_it() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:55", "enter_temperature", task="C1.chill", celsius=55.0)
    with_base_chilling(script)
    assert [celsius for _, celsius in script.of("C1.chill").hand_readings] == [55.0]
    assert _answer(script, "C1.chill", 40.0) == ("doubtful", 4.4)


@pytest.mark.parametrize(
    ("probe", "typed", "asked"),
    [
        ({"celsius": 60.0}, 40.0, ("", None)),
        ({"celsius": 43.0}, 41.0, ("", None)),
        ({"celsius": 43.0, "silent_since": "now"}, 41.0, ("doubtful", 5.0)),
        ({"celsius": 43.0, "task": "S1.chill"}, 41.0, ("doubtful", 5.0)),
        ({"celsius": 43.0, "health": (STUCK,)}, 41.0, ("doubtful", 5.0)),
    ],
    ids=["it alone says what to expect", "it says the same", "it is silent", "it is in other food", "it is stuck"],
)
def test_probe_that_is_in_the_food_and_heard_is_compared_with(
    probe: dict[str, Any], typed: float, asked: tuple[str, float | None]
) -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    said = {"task": "C1.chill", "measured_at": script.now} | probe
    if "silent_since" in said:
        said["silent_since"] = script.now
    script.reads("ice-bath-core", "ice-bath", **said)
    assert _answer(script, "C1.chill", typed) == asked


def test_after_a_reading_by_hand_both_it_and_the_target_must_be_far_and_one_must_fit() -> None:
    """31 °F is −0.6 °C: near the target, and far from it as from the 60 °C of before; 36 is not far from the latter."""
    script = with_base_chilling(in_a_planned_kitchen())
    script.give("Wed 09:10", "enter_temperature", task="C1.chill", celsius=60.0)
    assert [_first(script, "C1.chill", celsius) for celsius in (36.0, 31.0)] == [("", None), ("doubtful", -0.6)]


def _with_step(name: str, **changes: Any) -> Script:
    kitchen = small_kitchen()
    recipes = tuple(
        recipe.model_copy(
            update={"steps": tuple(s.model_copy(update=changes) if s.id == name else s for s in recipe.steps)}
        )
        for recipe in kitchen.recipes
    )
    return in_a_planned_kitchen(recipes=recipes)


def test_sugar_work_may_be_as_hot_as_its_ceiling() -> None:
    script = _with_step("cook", target=Target(at_least=160.0, ceiling=180.0))
    script.give("Wed 08:00", "start_task", task="C1.cook", person="early-cook")
    assert [_first(script, "C1.cook", celsius) for celsius in (178.0, 181.0)] == [("", None), ("doubtful", None)]


@pytest.mark.parametrize(
    ("gate", "celsius", "asked"),
    [
        (Gate(at_least=60.0, says="Base at least 60 °C"), 150.0, ("doubtful", 65.6)),
        (Gate(at_least=60.0, says="Base at least 60 °C"), 85.0, ("", None)),
        (Gate(at_most=-25.0, of="equipment", says="Barrel at most −25 °C"), -14.0, ("", None)),
        (Gate(at_least=100.0, of="equipment", says="Plate at least 100 °C"), 215.0, ("", None)),
    ],
    ids=["150 °F is 65.6 °C", "warm enough", "cold of the machine, not of the food", "heat of the machine"],
)
def test_before_the_start_only_gates_of_the_food_are_compared_with(
    gate: Gate, celsius: float, asked: tuple[str, float | None]
) -> None:
    assert _answer(with_base_aged(_with_step("churn", gates=(gate,))), "B1.churn", celsius) == asked


@pytest.mark.parametrize(
    ("unit", "keep", "celsius", "meant"),
    [
        ("F", "cold", (9 - 32) / 1.8, 48.2),  # 9 typed for 9 °C: as 9 °F it would be colder than any limit
        ("F", "cold", (4 - 32) / 1.8, 39.2),  # 4 for 4 °C
        ("F", "cold", 3.3, None),  # 38 °F
        ("F", "cold", 8.6, None),  # 47.5 °F: too warm, and so judged
        ("C", "cold", 39.0, 3.9),  # 39 typed for 39 °F
        ("C", "cold", 12.0, None),
        ("C", "frozen", 0.0, -17.8),  # 0 typed for 0 °F
        ("C", "frozen", -21.0, None),
        ("F", "dry", -12.8, None),
    ],
)
def test_delivery_whose_temperature_only_another_unit_explains_is_asked_about_before_it_is_judged(
    unit: str, keep: str, celsius: float, meant: float | None
) -> None:
    script = at_the_door()
    assert script.state.kitchen is not None
    script.state = replace(script.state, kitchen=script.state.kitchen.model_copy(update={"temperature_unit": unit}))
    came: dict[str, Any] = {"ingredient": "whole milk", "quantity": "4 L", "keep": keep, "celsius": celsius}
    asked = script.try_("Wed 07:40", "receive_delivery", outcome="accepted", person="early-cook", **came)
    found = asked.meant if isinstance(asked, Refusal) and asked.code is RefusalCode.DOUBTFUL else None
    assert found == meant
    sure = script.try_("Wed 07:41", "receive_delivery", outcome="accepted", person="early-cook", sure=True, **came)
    assert getattr(sure, "code", None) is not RefusalCode.DOUBTFUL
