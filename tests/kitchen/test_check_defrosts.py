"""A freezer's clock of defrosts."""

from pathlib import Path

import pytest

from orchestrator.kitchen import read_kitchen
from tests.kitchen.small import change, faults, write_small

OLD = "    holds: { low: 0 °C, high: 5 °C }\n"


@pytest.mark.parametrize(
    ("new", "says"),
    [
        pytest.param(
            f"{OLD}    defrosts: {{ every: 6 h, longest: 40 min }}\n",
            "equipment.yaml:17:5: 'fridge' is not kept below 0 °C, so that no rise of its air is a defrost — "
            "leave defrosts out, or write what it holds, such as `holds: { high: -18 °C }`",
            id="no freezer",
        ),
        pytest.param(
            "    holds: { high: -18 °C }\n    defrosts: { every: 2 h, longest: 40 min }\n",
            "equipment.yaml:17:29: 40 min of every 120 min would leave 'fridge' warm for much of the time — "
            "make it a quarter of every at most",
            id="much of the time",
        ),
    ],
)
def test_defrosts_with_one_slip_are_told_with_file_and_line(tmp_path: Path, new: str, says: str) -> None:
    change(write_small(tmp_path), "equipment.yaml", OLD, new)
    assert says in faults(tmp_path)


def test_defrosts_are_read(tmp_path: Path) -> None:
    new = "    holds: { high: -18 °C }\n    defrosts: { every: 6 h, longest: 40 min }\n"
    change(write_small(tmp_path), "equipment.yaml", OLD, new)
    clock = next(machine for machine in read_kitchen(tmp_path).equipment if machine.id == "fridge").defrosts
    assert clock is not None
    assert (clock.every, clock.longest) == (360, 40)
