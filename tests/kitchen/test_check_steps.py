"""The order and kind of steps."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "after: [{ step: mix, l",
        "after: [{ step: mx, l",
        ["recipes/damson-sorbet.yaml:25:15: there is no step 'mx' in this recipe — did you mean 'mix'?"],
        id="step unknown",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "    station: bench\n",
        "",
        [
            (
                "recipes/damson-sorbet.yaml:8:5: 'mix' has neither a station nor equipment — add `station: "
                "...` or `equipment: ...`: where does a cook stand?"
            )
        ],
        id="no place",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "    station: bench\n",
        "    station: bench\n    load: 4 L\n",
        [
            (
                "recipes/damson-sorbet.yaml:12:5: 'mix' has a load but no equipment — add `equipment: "
                "...`, or take the load out"
            )
        ],
        id="load no eq",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "  - id: simmer\n",
        (
            "  - id: wait\n"
            "    process: store\n"
            "    title: Wait\n"
            "    equipment: fridge\n"
            "    load: 1 L\n"
            "    stay: { least: 0 min }\n"
            "  - id: simmer\n"
        ),
        [
            (
                "recipes/damson-puree.yaml:14:5: the stay 'wait' has nothing before it — let it follow the "
                "step that fills it"
            )
        ],
        id="stay first",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "  - id: keep\n",
        (
            "  - id: wait\n"
            "    process: store\n"
            "    title: Wait\n"
            "    equipment: fridge\n"
            "    load: 1 L\n"
            "    stay: { least: 0 min }\n"
            "  - id: keep\n"
        ),
        [
            (
                "recipes/damson-puree.yaml:30:5: the stay 'keep' follows another stay, 'wait' — put the "
                "step that moves the food between them"
            )
        ],
        id="stay stay",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "    stay: {",
        "    after: [{ step: simmer, most: 10 min }]\n    stay: {",
        [
            (
                "recipes/damson-puree.yaml:24:5: the stay 'keep' begins as one step ends, without a gap — "
                "name that one step, without least and most"
            )
        ],
        id="stay gap",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "after: [{ step: mix, least: 5 min, most: 30 min }]",
        "after: [{ step: hand-over }]",
        [
            (
                "recipes/damson-sorbet.yaml:25:15: 'churn' is done per batch but comes after 'hand-over', "
                "which is done per order — let it come after a step that is done per batch"
            )
        ],
        id="per batch after order",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "    skill: make\n",
        "    skill: make\n    per: order\n",
        [
            (
                "recipes/damson-puree.yaml:17:5: 'simmer' is done per order, but nobody orders a component "
                "— take `per` out, or make this recipe a product"
            ),
            (
                "recipes/damson-puree.yaml:20:5: 'keep' is done per batch but stands after 'simmer', which "
                "is done per order — move it above the steps done per order"
            ),
        ],
        id="per component",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
