"""Names that must stand for something."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "equipment.yaml",
        "    kind: hob\n    station: bench",
        "    kind: hob\n    station: bensh",
        ["equipment.yaml:5:5: there is no station 'bensh' — did you mean 'bench'?"],
        id="station unknown eq",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "station: counter",
        "station: conter",
        ["recipes/damson-sorbet.yaml:31:5: there is no station 'conter' — did you mean 'counter'?"],
        id="station unknown",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "equipment: hob",
        "equipment: hop",
        ["recipes/damson-puree.yaml:12:5: there is no equipment of the kind 'hop' — did you mean 'hob'?"],
        id="kind unknown",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "skill: serve",
        "skill: sevre",
        ["recipes/damson-sorbet.yaml:34:5: nobody has the skill 'sevre' — did you mean 'serve'?"],
        id="skill unknown",
    ),
    pytest.param(
        "equipment.yaml",
        "skill: make",
        "skill: scrub",
        ["equipment.yaml:24:46: nobody has the skill 'scrub' — known here: make, serve"],
        id="cleaning skill",
    ),
    pytest.param(
        "equipment.yaml",
        "skill: serve",
        "skill: scrub",
        ["equipment.yaml:26:33: nobody has the skill 'scrub' — known here: make, serve"],
        id="day-end skill",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "component: damson-puree",
        "component: damson-pure",
        [
            (
                "recipes/damson-sorbet.yaml:16:11: there is no recipe 'damson-pure' to make this component "
                "— did you mean 'damson-puree'?"
            )
        ],
        id="component unknown",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "component: damson-puree",
        "component: damson-sorbet",
        [
            (
                "recipes/damson-sorbet.yaml:16:11: 'damson-sorbet' is a product, not a component — did you "
                "mean 'damson-puree'?"
            )
        ],
        id="component is product",
    ),
    pytest.param(
        "orders.yaml",
        "damson-sorbet",
        "damson-sorbit",
        ["orders.yaml:6:11: there is no product 'damson-sorbit' — did you mean 'damson-sorbet'?"],
        id="product unknown",
    ),
    pytest.param(
        "orders.yaml",
        "damson-sorbet",
        "damson-puree",
        ["orders.yaml:6:11: 'damson-puree' is a component, not a product — did you mean 'damson-sorbet'?"],
        id="product is component",
    ),
    pytest.param(
        "stock.yaml",
        "damson-sorbet",
        "plum-sorbet",
        ["stock.yaml:3:5: there is no recipe 'plum-sorbet' — did you mean 'damson-sorbet'?"],
        id="stock recipe",
    ),
    pytest.param(
        "stock.yaml",
        "place: fridge",
        "place: fridg",
        ["stock.yaml:7:5: there is no equipment 'fridg' — did you mean 'fridge'?"],
        id="stock place",
    ),
    pytest.param(
        "probes.yaml",
        "equipment: fridge",
        "equipment: freezer",
        ["probes.yaml:2:41: there is no equipment 'freezer' — known here: churn, fridge, hob"],
        id="probe equipment",
    ),
    pytest.param(
        "probes.yaml",
        "reads: air }",
        "reads: air, interval: 5 min, silent_after: 2 min }",
        [
            (
                "probes.yaml:2:89: the probe would be called silent before its next reading is expected — "
                "make silent_after no less than interval"
            )
        ],
        id="silent",
    ),
    pytest.param(
        "probes.yaml",
        "    probe_level: 1",
        "    probe: fridge-hair",
        ["probes.yaml:5:5: there is no probe 'fridge-hair' — did you mean 'fridge-air'?"],
        id="mapping probe",
    ),
    pytest.param(
        "probes.yaml",
        "    probe_level: 1\n",
        "",
        [
            (
                "probes.yaml:4:5: a mapping names its probe in exactly one way — give `probe`, or "
                "`probe_level` for the level of the topic that names it"
            )
        ],
        id="mapping both",
    ),
    pytest.param(
        "probes.yaml",
        "probe_level: 1",
        "probe_level: 2",
        ["probes.yaml:5:5: level 2 of 'sensors/+/temperature' is no + — the levels with + are: 1"],
        id="mapping level",
    ),
    pytest.param(
        "probes.yaml",
        "    celsius: /t\n",
        "",
        [
            (
                "probes.yaml:4:5: a mapping points at the value in exactly one unit — give `celsius` or "
                "`fahrenheit`, a JSON Pointer to the number"
            )
        ],
        id="mapping unit",
    ),
    pytest.param(
        "probes.yaml",
        "celsius: /t",
        "celsius: t",
        [
            (
                "probes.yaml:6:5: 't' is no JSON Pointer — begin with a slash, like /temperature/value, or "
                'write "" for the whole payload'
            )
        ],
        id="mapping pointer",
    ),
    pytest.param(
        "probes.yaml",
        "sensors/+/temperature",
        "sensors/+x/temperature",
        [
            (
                "probes.yaml:4:5: 'sensors/+x/temperature' is no topic filter: + must fill a whole level — "
                "write it like sensors/+/temperature"
            ),
            ("probes.yaml:5:5: level 1 of 'sensors/+x/temperature' is no + — put a + where the probe's name stands"),
        ],
        id="mapping topic",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
