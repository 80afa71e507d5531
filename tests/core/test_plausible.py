"""A temperature typed in the other unit is told and asked about; what fits is taken without a word.

41 °F = 5 °C and 0 °F = −18 °C are printed pairs (FDA Food Code 2022, 3-501.16; 180 °F beside 82 °C, arithmetic)."""

import pytest

from orchestrator.core.errors import RefusalCode
from tests.core.script import in_a_planned_kitchen, with_base_aged, with_base_chilling


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
