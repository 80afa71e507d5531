"""Weights, volumes, counts and °Brix that hardly can be are asked about, and taken once somebody is sure."""

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.models import Measure, Process
from orchestrator.core.plausible_amounts import (
    amount_doubt,
    count_doubt,
    delivery_doubt,
    first_weight_doubt,
    left_doubt,
)
from orchestrator.core.quantities import Quantity
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.core.test_decide_finishing import CHURN
from tests.fakes.kitchens import small_kitchen


@pytest.mark.parametrize(
    ("measure", "value", "expected", "status", "again"),
    [
        (Measure.COUNT, 3, "52 each", "3 pieces does not fit: expected is 52 pieces", "count again"),
        (Measure.BRIX, 90, None, "90 °Bx does not fit: usual is 2 to 80 °Bx", "look at the refractometer again"),
        (Measure.WEIGHT_KG, 24, "2.5 kg", "24 kg does not fit: expected is 2.5 kg", "look at the scale again"),
    ],
)
def test_doubt_names_what_to_look_at_again(
    measure: Measure, value: float, expected: str | None, status: str, again: str
) -> None:
    wanted = None if expected is None else Quantity.model_validate(expected)
    found = amount_doubt("T", measure, value, wanted)
    assert found is not None
    assert (found.status, found.remedy.partition(";")[0]) == (status, again)


@pytest.mark.parametrize(
    ("measure", "value", "expected", "asked", "meant"),
    [
        (Measure.WEIGHT_KG, 2.4, "2.5 kg", False, None),
        (Measure.WEIGHT_KG, 2400, "2.5 kg", True, 2.4),  # grams
        (Measure.WEIGHT_KG, 24, "2.5 kg", True, None),
        (Measure.WEIGHT_KG, 12000, "2.5 kg", True, None),  # not even grams
        (Measure.WEIGHT_KG, 0.5, "2.5 kg", False, None),  # a fifth of it
        (Measure.WEIGHT_KG, 0.49, "2.5 kg", True, None),
        (Measure.WEIGHT_KG, 5.0, "2.5 kg", False, None),  # twice
        (Measure.WEIGHT_KG, 5.01, "2.5 kg", True, None),
        (Measure.VOLUME_L, 4700, "5 L", True, 4.7),  # millilitres
        (Measure.COUNT, 80, "80 each", False, None),
        (Measure.COUNT, 800, "80 each", True, None),
        (Measure.COUNT, 8, "80 each", True, None),
        (Measure.COUNT, 80000, "80 each", True, None),  # pieces have no thousandth
        (Measure.WEIGHT_KG, 900, "5 L", False, None),  # nothing to compare it with
        (Measure.BRIX, 28, None, False, None),
        (Measure.BRIX, 67, None, False, None),  # a saturated sucrose solution at 20 °C is about 67 °Bx (from memory)
        (Measure.BRIX, 2.8, None, False, None),
        (Measure.BRIX, 1.35, None, True, None),  # a refractive index typed for it: water's is 1.33
        (Measure.BRIX, 280, None, True, None),
        (Measure.BRIX, 2.0, None, False, None),
        (Measure.BRIX, 1.99, None, True, None),
        (Measure.BRIX, 80.0, None, False, None),
        (Measure.BRIX, 80.1, None, True, None),
    ],
)
def test_amount_that_hardly_can_be_is_asked_about(
    measure: Measure, value: float, expected: str | None, asked: bool, meant: float | None
) -> None:
    doubt = amount_doubt("T1", measure, value, None if expected is None else Quantity.model_validate(expected))
    assert (doubt is not None) == asked
    if doubt is not None:
        assert (doubt.code, doubt.meant) == (RefusalCode.DOUBTFUL, meant)


def test_question_names_what_is_expected_as_people_write_it() -> None:
    doubt = amount_doubt("T1", Measure.WEIGHT_KG, 2400, Quantity.model_validate("2.5 kg"))
    assert doubt is not None
    assert doubt.status == "2400 kg does not fit: expected is 2.5 kg"


@pytest.mark.parametrize("value", [0.9, 10.1, 4700.0])
def test_finish_with_an_unlikely_value_is_asked_about_and_taken_when_somebody_is_sure(value: float) -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Thu 09:00", "start_task", task=CHURN)
    refusal = script.refused("Thu 09:30", "finish_task", task=CHURN, measured={"volume_l": value})
    assert refusal.code is RefusalCode.DOUBTFUL
    script.give("Thu 09:30", "finish_task", task=CHURN, measured={"volume_l": value}, sure=True)
    assert script.of(CHURN).measured == {Measure.VOLUME_L: value}


@pytest.mark.parametrize(
    ("kilograms", "expected", "asked", "meant"),
    [
        (4.4, "4.4 L", False, None),  # water weighs 1 kg a litre
        (5.6, "4.4 L", False, None),  # thick syrup about 1.3
        (8.8, "4.4 kg", False, None),  # the recipe tells what is left of it
        (240, "4.4 L", True, None),  # 2.40 without its point
        (4400, "4.4 L", True, 4.4),  # grams
        (0.044, "4.4 L", True, None),
        (240, "12 each", False, None),  # nothing to compare it with
        (1.0, "5 L", False, None),  # a fifth of it
        (0.99, "5 L", True, None),
        (20.0, "5 L", False, None),  # twice, were what is left of it told
        (20.1, "5 L", True, None),
        (30000, "5 L", True, None),  # not even grams
    ],
)
def test_first_weight_that_hardly_can_be_is_asked_about_since_all_later_ones_are_judged_by_it(
    kilograms: float, expected: str, asked: bool, meant: float | None
) -> None:
    doubt = first_weight_doubt("T1", kilograms, Quantity.model_validate(expected), 0.5)
    assert (doubt is not None) == asked
    if doubt is not None:
        assert (doubt.code, doubt.meant) == (RefusalCode.DOUBTFUL, meant)


def _measuring_brix() -> Script:
    """The small kitchen, whose damsons are simmered to a °Brix; they are on the hob."""
    kitchen = small_kitchen()
    recipes = tuple(
        recipe.model_copy(
            update={
                "steps": tuple(
                    s.model_copy(update={"measure": Measure.BRIX}) if s.process is Process.SIMMER else s
                    for s in recipe.steps
                )
            }
        )
        for recipe in kitchen.recipes
    )
    script = in_a_planned_kitchen(recipes=recipes)
    script.give("Wed 08:00", "start_task", task="S1.simmer", person="early-cook")
    return script


@pytest.mark.parametrize("more", [{}, {"sure": True}, {"override_reason": "it says so", "person": "early-cook"}])
def test_more_sugar_than_food_is_refused_whoever_is_sure_of_it(more: dict[str, object]) -> None:
    # ICUMSA: degrees Brix are grams of sucrose in 100 g of solution (from memory); 100 is sugar alone.
    script = _measuring_brix()
    refusal = script.refused("Wed 08:40", "finish_task", task="S1.simmer", measured={"brix": 100.1}, **more)
    assert (refusal.code, refusal.remedy) == (RefusalCode.BAD_VALUE, "look at the refractometer again")
    script.give("Wed 08:40", "finish_task", task="S1.simmer", measured={"brix": 100.0}, sure=True)


@pytest.mark.parametrize(
    ("counted", "start", "asked", "meant"),
    [
        ("2.5 L", 2.0, False, None),
        ("2.6 L", 2.0, True, None),
        ("1400 L", 2.0, True, 1.4),
        ("63 each", 50.0, True, None),
    ],
)
def test_count_of_more_than_there_ever_was_is_asked_about(
    counted: str, start: float, asked: bool, meant: float | None
) -> None:
    doubt = count_doubt("H1", Quantity.model_validate(counted), start)
    assert (doubt is not None) == asked
    if doubt is not None:
        assert (doubt.code, doubt.meant) == (RefusalCode.DOUBTFUL, meant)


@pytest.mark.parametrize(
    ("left", "par", "says", "meant"),
    [
        ("4 L", "2 L", None, None),
        ("0 L", "2 L", None, None),  # sold out is usual
        ("4.1 L", "2 L", "4.1 L does not fit: its par is 2 L", None),
        ("40 L", "4 L", "40 L does not fit: its par is 4 L", None),
        ("400 L", "2 L", "400 L does not fit: its par is 2 L", 0.4),  # millilitres
        ("300 each", "30 each", "300 pieces does not fit: its par is 30 pieces", None),
    ],
)
def test_closing_count_of_more_than_twice_its_par_is_asked_about(
    left: str, par: str, says: str | None, meant: float | None
) -> None:
    doubt = left_doubt("basil-custard", Quantity.model_validate(left), Quantity.model_validate(par))
    assert (doubt and doubt.status) == says
    if doubt is not None:
        assert (doubt.code, doubt.meant) == (RefusalCode.DOUBTFUL, meant)


@pytest.mark.parametrize(
    ("came", "ordered", "needed", "all_of_it", "says", "meant"),
    [
        ("8 L", "4 L", 4.0, True, None, None),
        ("8.1 L", "4 L", 4.0, True, "8.1 L does not fit: 4 L were ordered", None),
        ("4000 L", "4 L", 4.0, True, "4000 L does not fit: 4 L were ordered", 4.0),
        ("0.7 L", "4 L", 4.0, True, "0.7 L does not fit: 4 L were ordered", None),
        ("0.7 L", "4 L", 4.0, False, None, None),  # too little came, and they said so
        ("25 kg", None, 0.05, True, None, None),  # a sack of salt
        ("4000 kg", None, 4.0, True, "4000 kg does not fit: the plan takes 4 kg", 4.0),
        ("4000 kg", None, 0.0, True, None, None),  # nothing is known to compare it with
    ],
)
def test_delivery_far_off_what_was_ordered_or_is_needed_is_asked_about(
    came: str, ordered: str | None, needed: float, all_of_it: bool, says: str | None, meant: float | None
) -> None:
    told = Quantity.model_validate(ordered) if ordered is not None else None
    doubt = delivery_doubt("milk", Quantity.model_validate(came), told, needed, all_of_it=all_of_it)
    assert (doubt and doubt.status) == says
    if doubt is not None:
        assert (doubt.code, doubt.meant, doubt.field) == (RefusalCode.DOUBTFUL, meant, "quantity")
