"""Supplies that something waits for."""

from pathlib import Path

import pytest

from orchestrator.kitchen import read_kitchen
from tests.kitchen.small import faults, write_small

CASES = [
    pytest.param(
        "{ ingredient: Damson, ready: 2026-11-26T12:00 }",
        ["supplies.yaml:2:7: no step takes 'Damson' — did you mean 'Damsons'?"],
        id="name",
    ),
    pytest.param(
        "{ ingredient: Damsons, ready: 2026-11-28T06:00 }",
        [
            (
                "supplies.yaml:2:28: 'Damsons' is there Sat 28 Nov 2026 06:00, after the last planned minute — "
                "nothing that takes it can be planned: correct the time, or leave it out"
            )
        ],
        id="too late",
    ),
    pytest.param(
        "{ ingredient: Damsons, ready: 2026-11-26T12:00 }\n  - { ingredient: Damsons, ready: 2026-11-26T13:00 }",
        ["supplies.yaml:3:7: the ingredient 'Damsons' is taken, on line 2 — give each one a name of its own"],
        id="twice",
    ),
]


def written(folder: Path, entry: str) -> Path:
    write_small(folder)
    (folder / "supplies.yaml").write_text(f"supplies:\n  - {entry}\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(("entry", "says"), CASES)
def test_supply_with_one_slip_is_told_with_file_and_line(tmp_path: Path, entry: str, says: list[str]) -> None:
    assert faults(written(tmp_path, entry)) == says


def test_supply_is_read_on_the_clock_of_the_kitchen(tmp_path: Path) -> None:
    kitchen = read_kitchen(written(tmp_path, "{ ingredient: Damsons, ready: 2026-11-26T12:00, why: ripe }"))
    (supply,) = kitchen.supplies
    # London is at UTC in November.
    assert (supply.ingredient, supply.ready.isoformat(), supply.why) == ("Damsons", "2026-11-26T12:00:00+00:00", "ripe")
