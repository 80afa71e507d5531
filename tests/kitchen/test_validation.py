"""Keys and values that cannot be, and what would be right."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "recipes/damson-puree.yaml",
        "shelf_life: 5 d",
        "shelf_live: 5 d",
        ["recipes/damson-puree.yaml:7:1: unknown key 'shelf_live' — did you mean 'shelf_life'?"],
        id="unknown key",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "    process: simmer",
        "    proces: simmer",
        ["recipes/damson-puree.yaml:10:5: unknown key 'proces' — did you mean 'process'?"],
        id="unknown step key",
    ),
    pytest.param(
        "orders.yaml",
        "orders:\n",
        "orders: []\nordres:\n",
        ["orders.yaml:2:1: unknown key 'ordres' — did you mean 'orders'?"],
        id="unknown top key",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "yields: 3 L\n",
        "",
        ["recipes/damson-puree.yaml:1:1: 'yields' is missing — add `yields: 5 L`"],
        id="missing key",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "usual: 40 min",
        "usual: 40",
        ["recipes/damson-puree.yaml:14:35: the unit is missing — write it, for example '45 min'"],
        id="missing unit duration",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "amount: 4 kg",
        "amount: 4",
        ["recipes/damson-puree.yaml:18:32: the unit is missing — write it, for example '5 L' or '250 g'"],
        id="missing unit amount",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "at_most: 4 °C, says",
        "at_most: 4, says",
        ["recipes/damson-sorbet.yaml:26:15: the unit is missing — write it, for example '4 °C'"],
        id="missing unit temp",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "amount: 4 kg",
        "amount: 4 st",
        [
            (
                "recipes/damson-puree.yaml:18:32: '4 st' is not an amount — write a number and one of L, "
                "ml, kg, g, each, trays, tray, cups, lb, oz, gal, qt, pt, cup, fl oz, tbsp, tsp"
            )
        ],
        id="wrong unit",
    ),
    pytest.param(
        "kitchen.yaml",
        "name: Small kitchen",
        "name: 12",
        ["kitchen.yaml:1:1: 'name' is not text but 12 — write words, in quotes if they look like a number"],
        id="not text",
    ),
    pytest.param(
        "crew.yaml",
        "skills: [make]",
        "skills: make",
        [("crew.yaml:4:5: 'skills' is not a list but 'make' — begin each entry with a hyphen, or write [a, b]")],
        id="not list",
    ),
    pytest.param(
        "equipment.yaml",
        "shared: true",
        "shared: maybe",
        ["equipment.yaml:14:5: 'shared' is neither true nor false but 'maybe' — write true or false"],
        id="bool",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "process: simmer",
        "process: simer",
        ["recipes/damson-puree.yaml:10:5: 'simer' cannot be the process — did you mean 'simmer'?"],
        id="bad enum",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "when: start",
        "when: begin",
        ["recipes/damson-puree.yaml:15:18: 'begin' cannot be the when — known here: end, start, throughout"],
        id="bad literal",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "id: simmer",
        "id: Simmer It",
        [
            (
                "recipes/damson-puree.yaml:9:5: 'Simmer It' cannot be the id — use lower-case letters, "
                "digits and hyphens, like custard-base"
            )
        ],
        id="bad id",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "name: Damson puree",
        "name:",
        [
            (
                "recipes/damson-puree.yaml:2:1: 'name' is not text but nothing — write words, in quotes if "
                "they look like a number"
            )
        ],
        id="null",
    ),
    pytest.param(
        "kitchen.yaml",
        "horizon_days: 3",
        "horizon_days: 40",
        ["kitchen.yaml:4:1: 'horizon_days', 40, is too much — write 14 or less"],
        id="horizon",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "shortest: 30 min",
        "shortest: 50 min",
        [
            (
                "recipes/damson-puree.yaml:14:5: shortest, usual and longest are not in order — write the "
                "shortest first and the longest last"
            )
        ],
        id="durations",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "    stay: { least: 4 h, most: 5 d, window: safety }\n",
        "",
        [
            (
                "recipes/damson-puree.yaml:19:5: it is not clear how long the step lasts — give exactly "
                "one of duration, cycle and stay"
            )
        ],
        id="no length",
    ),
    pytest.param(
        "orders.yaml",
        "    lines:\n      - { product: damson-sorbet, quantity: 3 L }",
        "    lines: []",
        ["orders.yaml:5:5: 'lines' is empty — give at least 1"],
        id="no lines",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "at_most: 4 °C, says",
        "at_most: 4 °C, at_least: 1 °C, says",
        ["recipes/damson-sorbet.yaml:26:13: a limit has one side — give either at_most or at_least"],
        id="two sides",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "    stay: {",
        "    attended: [{ when: throughout }]\n    skill: make\n    stay: {",
        [
            (
                "recipes/damson-puree.yaml:19:5: a stay needs no hands — give the attended work to the "
                "step before or after"
            )
        ],
        id="stay hands",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "ingredient: Damsons, amount",
        "ingredient: Damsons, component: damson-puree, amount",
        ["recipes/damson-puree.yaml:18:9: a line takes one thing — name either an ingredient or a component"],
        id="take both",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
