"""One wrong part does not hide the faults of the parts beside it."""

from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from orchestrator.core.models import Step
from orchestrator.kitchen import KitchenFaults, new_kitchen, read_kitchen
from orchestrator.kitchen.salvage import salvage

LONDON = ZoneInfo("Europe/London")
STEP: dict[str, Any] = {
    "id": "cook",
    "process": "cook",
    "title": "Cook",
    "duration": {"shortest": "30 min", "usual": "40 min", "longest": "60 min"},
    "attended": [{"when": "throughout"}],
    "skill": "stove",
    "target": {"at_least": "82 °C"},
}


def test_salvage_of_a_right_part_is_that_part() -> None:
    assert salvage(Step, STEP, LONDON) == Step.model_validate(STEP)


@pytest.mark.parametrize(
    ("wrong", "kept"),
    [
        ({"target": {"at_least": 82}}, {"target": None}),
        ({"load": "5 spoons"}, {}),
        ({"colour": "green"}, {}),
        ({"attended": [{"when": "sometimes"}]}, {"attended": ()}),
        ({"takes": [{"ingredient": "milk", "amount": "3 pots"}], "target": {"at_least": "hot"}}, {"target": None}),
    ],
)
def test_salvage_leaves_out_what_is_wrong_and_keeps_the_rest(wrong: dict[str, Any], kept: dict[str, Any]) -> None:
    assert salvage(Step, STEP | wrong, LONDON) == Step.model_validate(STEP).model_copy(update=kept)


@pytest.mark.parametrize("wrong", [{"process": "juggle"}, {"duration": None}, {"title": 7}])
def test_salvage_is_nothing_when_what_must_be_there_is_wrong(wrong: dict[str, Any]) -> None:
    assert salvage(Step, STEP | wrong, LONDON) is None


@pytest.mark.parametrize("data", [None, 3, [], "cook"])
def test_salvage_of_something_else_is_nothing(data: object) -> None:
    assert salvage(Step, data, LONDON) is None


def test_two_faults_in_one_step_and_two_in_one_order_are_all_told(tmp_path: Path) -> None:
    new_kitchen(tmp_path / "k")
    recipe = tmp_path / "k" / "recipes" / "damson-sorbet.yaml"
    text = recipe.read_text()
    recipe.write_text(
        text.replace("skill: make", "skill: juggling").replace("process: churn", "process: churn\n    colour: green")
    )
    orders = tmp_path / "k" / "orders.yaml"
    orders.write_text(orders.read_text().replace("product: damson-sorbet", "product: damson-soup") + "    hue: 3\n")
    with pytest.raises(KitchenFaults) as found:
        read_kitchen(tmp_path / "k")
    told = {fault.what for fault in found.value.faults}
    assert {"unknown key 'colour'", "unknown key 'hue'"} <= told
    assert any("juggling" in what for what in told)
    assert any("damson-soup" in what for what in told)


def test_recipe_whose_every_step_is_faulty_is_not_called_empty(tmp_path: Path) -> None:
    new_kitchen(tmp_path / "k")
    recipe = tmp_path / "k" / "recipes" / "damson-sorbet.yaml"
    text = recipe.read_text()
    steps = text.count("    process: ")
    recipe.write_text(text.replace("    process: ", "    colour: green\n    process: "))
    with pytest.raises(KitchenFaults) as found:
        read_kitchen(tmp_path / "k")
    told = [fault.what for fault in found.value.faults if fault.file.endswith("damson-sorbet.yaml")]
    assert told == ["unknown key 'colour'"] * steps
    head = text[: text.index("steps:")]
    recipe.write_text(f"{head}steps: []\n")
    with pytest.raises(KitchenFaults) as none:
        read_kitchen(tmp_path / "k")
    assert "'steps' is empty" in {fault.what for fault in none.value.faults}
