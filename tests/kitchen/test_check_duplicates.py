"""Names that may be given once only."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "kitchen.yaml",
        "id: counter",
        "id: bench",
        [
            "kitchen.yaml:7:7: the id 'bench' is taken, on line 6 — give each one a name of its own",
            "recipes/damson-sorbet.yaml:31:5: there is no station 'counter' — known here: bench",
        ],
        id="dup station",
    ),
    pytest.param(
        "equipment.yaml",
        "id: hob",
        "id: Hob 1",
        [("equipment.yaml:2:5: 'Hob 1' cannot be the id — use lower-case letters, digits and hyphens, like hob-1")],
        id="plain id",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "code: M",
        "code: S",
        [
            (
                "recipes/damson-sorbet.yaml:3:1: the code 'S' is taken, in recipes/damson-puree.yaml — "
                "give each recipe a code of its own: lot codes begin with it"
            )
        ],
        id="dup code",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "id: damson-puree",
        "id: damson-sorbet",
        [
            (
                "recipes/damson-puree.yaml:1:1: the id 'damson-sorbet' is not the name of its file — "
                "rename the file to damson-sorbet.yaml"
            ),
            (
                "recipes/damson-sorbet.yaml:1:1: the id 'damson-sorbet' is taken, in "
                "recipes/damson-puree.yaml — give each recipe an id of its own"
            ),
            "stock.yaml:2:5: 'S1' is no lot code of damson-sorbet — write its code and a number, like M1",
        ],
        id="dup id",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "id: damson-puree",
        "id: plum-puree",
        [
            (
                "recipes/damson-puree.yaml:1:1: the id 'plum-puree' is not the name of its file — rename "
                "the file to plum-puree.yaml"
            )
        ],
        id="id file",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "id: keep",
        "id: simmer",
        [
            (
                "recipes/damson-puree.yaml:19:5: two steps have the id 'simmer' — give each step of a "
                "recipe an id of its own"
            )
        ],
        id="dup step",
    ),
    pytest.param(
        "orders.yaml",
        "quantity: 3 L }",
        "quantity: 3 L }\n      - { product: damson-sorbet, quantity: 1 L }",
        ["orders.yaml:7:11: 'damson-sorbet' stands on two lines of this order — add them up on one line"],
        id="dup line",
    ),
    pytest.param(
        "orders.yaml",
        "FRI-COUNTER",
        "S7",
        [
            (
                "orders.yaml:2:5: the order 'S7' reads like a lot of damson-sorbet — choose a name that is "
                "no code with a number"
            )
        ],
        id="order lot",
    ),
    pytest.param(
        "stock.yaml",
        "lot: S1",
        "lot: TUESDAY",
        ["stock.yaml:2:5: 'TUESDAY' is no lot code of damson-sorbet — write its code and a number, like S1"],
        id="stock lot",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
