"""Units that must agree, and amounts that can be."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "    load: 4 L\n",
        "",
        [
            (
                "recipes/damson-sorbet.yaml:17:5: 'churn' says nothing of how much of the churn it takes — "
                "add `load: ... L`"
            )
        ],
        id="load missing",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "load: 4 L",
        "load: 4 kg",
        [
            (
                "recipes/damson-sorbet.yaml:21:5: 4 kg cannot be compared with the capacity of the churn, "
                "in L — write it in L"
            )
        ],
        id="load unit",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "amount: 2.5 L",
        "amount: 2.5 kg",
        [
            (
                "recipes/damson-sorbet.yaml:16:36: 2.5 kg cannot be compared with the yield of "
                "damson-puree, in L — write it in L"
            )
        ],
        id="component unit",
    ),
    pytest.param(
        "orders.yaml",
        "quantity: 3 L",
        "quantity: 3 kg",
        ["orders.yaml:6:35: 3 kg cannot be compared with the yield of damson-sorbet, in L — write it in L"],
        id="order unit",
    ),
    pytest.param(
        "stock.yaml",
        "quantity: 1 L",
        "quantity: 1 each",
        ["stock.yaml:4:5: 1 each cannot be compared with the yield of damson-sorbet, in L — write it in L"],
        id="stock unit",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "least: 1 L",
        "least: 1 kg",
        ["recipes/damson-puree.yaml:6:10: 1 kg cannot be compared with the yield, in L — write it in L"],
        id="batch unit",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "least: 1 L",
        "least: 5 L",
        [
            (
                "recipes/damson-puree.yaml:6:10: the least of a batch, 5 L, is more than its most, 4 L — "
                "swap the two, or correct one"
            )
        ],
        id="batch order",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "loss: 200 ml",
        "loss: 200 g",
        ["recipes/damson-sorbet.yaml:27:5: 0.2 kg cannot be compared with the yield, in L — write it in L"],
        id="loss unit",
    ),
    pytest.param(
        "equipment.yaml",
        "least: 1 L",
        "least: 1 kg",
        ["equipment.yaml:23:5: 1 kg cannot be compared with the capacity, in L — write it in L"],
        id="least unit",
    ),
    pytest.param(
        "equipment.yaml",
        "least: 1 L",
        "least: 6 L",
        [("equipment.yaml:23:5: the least, 6 L, is more than the capacity, 5 L — swap the two, or correct one")],
        id="least more",
    ),
    pytest.param(
        "equipment.yaml",
        "low: 0 °C",
        "low: 6 °C",
        ["equipment.yaml:16:5: low, 6 °C, is not below high, 5 °C — swap the two"],
        id="band",
    ),
    pytest.param(
        "orders.yaml",
        "quantity: 3 L",
        "quantity: 0 L",
        ["orders.yaml:6:35: the quantity is nothing — write more than 0, or take the line out"],
        id="zero",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "    duration: { shortest: 28 min, usual: 35 min, longest: 50 min }",
        "    cycle: { pieces: 6, each: 5 min }",
        [
            (
                "recipes/damson-sorbet.yaml:22:5: trays of pieces need a recipe that yields pieces, not L "
                "— write the yield in each, or give a duration"
            )
        ],
        id="cycle unit",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "    loss: 200 ml",
        "    measure: count",
        [
            (
                "recipes/damson-sorbet.yaml:27:5: a count needs a recipe that yields pieces, not L — write "
                "weight_kg or volume_l"
            )
        ],
        id="count",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
