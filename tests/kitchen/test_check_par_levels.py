"""Par levels in kitchen.yaml: every fault at its place."""

import re
from pathlib import Path

import pytest

from orchestrator.kitchen import KitchenFaults, read_kitchen

EXAMPLE = Path(__file__).parents[2] / "config"
PARS = """
par_levels:
  - { station: counter, product: damson-sorbet, quantity: 4 L }
  - { station: countre, product: damson-sorbet, quantity: 4 L }
  - { station: counter, product: damson-sorbte, quantity: 4 L }
  - { station: counter, product: basil-custard, quantity: 4 kg }
  - { station: counter, product: damson-sorbet, quantity: 2 L, by: "09:30" }
"""


TOLD = [
    ("there is no station 'countre'", "did you mean 'counter'?"),
    ("there is no product 'damson-sorbte'", "did you mean 'damson-sorbet'?"),
    ("4 kg is no amount of basil-custard", "write more than 0, in L"),
    ("'damson-sorbet' at 'counter' comes twice", "keep one of the two"),
]


def folder(tmp_path: Path, pars: str) -> Path:
    for file in EXAMPLE.rglob("*.yaml"):
        to = tmp_path / file.relative_to(EXAMPLE)
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    kitchen = tmp_path / "kitchen.yaml"
    text = re.sub(r"^par_levels:.*\n(?:  .*\n)+", "", kitchen.read_text(encoding="utf-8"), flags=re.MULTILINE)
    kitchen.write_text(text + pars, encoding="utf-8")
    return tmp_path


def test_par_levels_that_can_be_are_the_kitchen_s(tmp_path: Path) -> None:
    kitchen = read_kitchen(folder(tmp_path, "\n".join(PARS.splitlines()[:3]) + "\n"))
    assert [(p.station, p.product, p.quantity.value, p.by) for p in kitchen.par_levels] == [
        ("counter", "damson-sorbet", 4.0, "10:00")
    ]


def test_every_fault_of_a_par_level_has_its_line_and_remedy(tmp_path: Path) -> None:
    with pytest.raises(KitchenFaults) as caught:
        read_kitchen(folder(tmp_path, PARS))
    assert [(fault.what, fault.remedy) for fault in caught.value.faults] == TOLD
    assert {fault.file for fault in caught.value.faults} == {"kitchen.yaml"}
    assert len({fault.line for fault in caught.value.faults}) == 4
