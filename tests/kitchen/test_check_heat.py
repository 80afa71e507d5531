"""Heat that can be reckoned with."""

from pathlib import Path

import pytest

from orchestrator.kitchen import read_kitchen
from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "    floor: warm\n    capacity: 8 L\n",
        "    floor: warm\n    capacity: 8 L\n    heat: { alone: 4 L, crowded: 1.5 }\n",
        [
            "equipment.yaml:8:5: 'hob' takes one batch at a time, so that none crowds another — "
            "leave heat out, or give it a capacity and `shared: true`"
        ],
        id="not shared",
    ),
    pytest.param(
        "    holds: { low: 0 °C, high: 5 °C }\n",
        "    holds: { low: 0 °C, high: 5 °C }\n    heat: { alone: 4 kg, crowded: 1.5 }\n",
        ["equipment.yaml:17:13: alone is 4 kg, and the capacity of 'fridge' is 20 L — write it in L"],
        id="unit",
    ),
    pytest.param(
        "    holds: { low: 0 °C, high: 5 °C }\n",
        "    holds: { low: 0 °C, high: 5 °C }\n    heat: { alone: 20 L, crowded: 1.5 }\n",
        [
            "equipment.yaml:17:13: alone is 20 L, and 'fridge' holds 20 L — "
            "make it more than nothing and less than the capacity, or leave heat out"
        ],
        id="no part of it",
    ),
]


@pytest.mark.parametrize(("old", "new", "says"), CASES)
def test_heat_with_one_slip_is_told_with_file_and_line(tmp_path: Path, old: str, new: str, says: list[str]) -> None:
    change(write_small(tmp_path), "equipment.yaml", old, new)
    assert faults(tmp_path) == says


def test_heat_is_read(tmp_path: Path) -> None:
    old = "    holds: { low: 0 °C, high: 5 °C }\n"
    change(write_small(tmp_path), "equipment.yaml", old, f"{old}    heat: {{ alone: 12 L, crowded: 1.5 }}\n")
    fridge = next(machine for machine in read_kitchen(tmp_path).equipment if machine.id == "fridge")
    assert fridge.heat is not None
    assert (fridge.heat.alone.value, fridge.heat.crowded, fridge.minutes(60, fridge.heat.crowded)) == (12.0, 1.5, 90)
