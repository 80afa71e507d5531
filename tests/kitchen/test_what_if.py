"""Files of scenarios: what is right is read, and what is wrong is told all at once, with file and line."""

from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.core.models.questions import Scenario
from orchestrator.kitchen import KitchenFaults, check_scenarios, read_kitchen, read_scenarios
from orchestrator.kitchen.change_files import CHANGES_IN_FILE
from orchestrator.kitchen.documents import read_document
from orchestrator.kitchen.schemas import schema
from tests.fakes.tiny import at

EXAMPLE = Path(__file__).parents[2] / "config"

RIGHT = """\
scenarios:
  - name: Everything at once
    changes:
      - change: add order
        order: { id: FRI-X, customer: Birthday, due: 2026-11-27T16:00, lines: [{ product: damson-sorbet, quantity: 2 L }] }
      - { change: change order, order: SAT-CAFE, due: 2026-11-28T13:00, weight: 4 }
      - { change: drop order, order: SUN-CAFE }
      - { change: smaller batch, order: SAT-STALL, product: basil-custard, quantity: 2 L }
      - { change: extra shift, crew: late-cook, start: 2026-11-29T08:00, end: 2026-11-29T12:00 }
      - { change: start earlier, crew: early-cook, start: 2026-11-26T04:00 }
      - { change: absent, crew: early-cook, start: 2026-11-26T08:00, end: 2026-11-26T10:00 }
      - change: weekly shifts
        crew: pastry-cook
        since: 2026-11-27
        shifts: [{ days: [mon, fri], start: "05:00", end: "13:00", breaks: ["09:00-09:30"] }]
      - { change: machine stopped, equipment: churn, start: 2026-11-27T06:00, end: 2026-11-27T08:00 }
      - { change: machine back, equipment: churn, at: 2026-11-27T07:00 }
      - { change: stock lot, lot: { lot: B80, recipe: basil-custard, quantity: 1 L, made: 2026-11-24T10:00, place: freezer } }
      - { change: supply moved, ingredient: Basil, ready: 2026-11-26T09:00, on_hand: 200 g }
      - { change: supply there, ingredient: Damsons }
      - { change: swap ingredient, ingredient: Double cream, by: Oat cream, allergens: [oats] }
  - name: Nothing
    changes: []
"""  # noqa: E501


@pytest.fixture(scope="module")
def kitchen() -> Kitchen:
    return read_kitchen(EXAMPLE)


def read(tmp_path: Path, kitchen: Kitchen, text: str) -> tuple[Scenario, ...]:
    file = tmp_path / "tried.yaml"
    file.write_text(text, encoding="utf-8")
    found = read_scenarios(file, kitchen)
    check_scenarios(found, PlanRequest(kitchen=kitchen, now=kitchen.planning_start))
    return found.scenarios


def faults(tmp_path: Path, kitchen: Kitchen, text: str) -> list[tuple[int, str, str]]:
    with pytest.raises(KitchenFaults) as caught:
        read(tmp_path, kitchen, text)
    assert {fault.file for fault in caught.value.faults} == {"tried.yaml"}
    return [(fault.line, fault.what, fault.remedy) for fault in caught.value.faults]


def test_scenarios_with_every_kind_of_change_are_read_on_the_kitchen_s_clock(tmp_path: Path, kitchen: Kitchen) -> None:
    everything, nothing = read(tmp_path, kitchen, RIGHT)
    assert (everything.name, nothing.name, nothing.changes) == ("Everything at once", "Nothing", ())
    kinds = {change.change for change in everything.changes}
    assert kinds == CHANGES_IN_FILE.keys() - {"allow break", "hold task", "free task", "revise recipe", "add recipe"}
    stop = next(change for change in everything.changes if change.change == "machine stopped")
    assert (stop.start, stop.end) == (at(2, "06:00"), at(2, "08:00"))


def test_scenarios_file_fits_its_published_schema(tmp_path: Path) -> None:
    (tmp_path / "tried.yaml").write_text(RIGHT, encoding="utf-8")
    data = read_document(tmp_path, "tried.yaml").data
    assert list(Draft202012Validator(schema("what-if")).iter_errors(data)) == []


def test_names_that_are_not_there_are_told_with_their_lines(tmp_path: Path, kitchen: Kitchen) -> None:
    text = """\
scenarios:
  - name: Misspelt
    changes:
      - { change: drop order, order: SAT-STAL }
      - { change: drop order, order: SUN-CAFE }
      - { change: change order, order: SUN-CAFE, weight: 2 }
  - name: Machines
    changes:
      - { change: machine stopped, equipment: chrun, start: 2026-11-27T06:00, end: 2026-11-27T08:00 }
"""
    assert faults(tmp_path, kitchen, text) == [
        (4, "SAT-STAL: there is no order of that name", "did you mean SAT-STALL?"),
        (6, "SUN-CAFE: there is no order of that name", "did you mean SAT-CAFE?"),
        (9, "chrun: there is no machine of that name", "did you mean churn?"),
    ]


def test_wrong_keys_times_and_kinds_are_told_with_their_lines(tmp_path: Path, kitchen: Kitchen) -> None:
    text = """\
scenarios:
  - name: Wrong
    changes:
      - { change: drop oder, order: SAT-STALL }
      - { change: extra shift, crew: early-cook, start: 2026-11-27, end: 2026-11-27T08:00 }
      - { change: smaller batch, order: SAT-STALL, product: basil-custard, quantity: 2 }
      - { order: SAT-STALL }
  - changes: []
"""
    told = faults(tmp_path, kitchen, text)
    assert [(line, what) for line, what, _ in told] == [
        (4, "'drop oder' is no change"),
        (5, "'2026-11-27' is not a local date and time"),
        (6, "the unit is missing"),
        (7, "'change' is missing"),
        (8, "'name' is missing"),
    ]
    assert told[0][2] == "did you mean 'drop order'?"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("scenarios: []\n", "'scenarios' is empty"),
        ("scenario: []\n", "unknown key 'scenario'"),
        ("[1, 2]\n", "'this' is not a set of keys"),
        ("", "the file is empty"),
    ],
)
def test_file_without_scenarios_is_a_fault(tmp_path: Path, kitchen: Kitchen, text: str, what: str) -> None:
    assert [fault[1] for fault in faults(tmp_path, kitchen, text)] == [what]


def test_readme_s_scenarios_fit_the_example_kitchen(tmp_path: Path, kitchen: Kitchen) -> None:
    readme = (EXAMPLE.parent / "README.md").read_text(encoding="utf-8")
    shown = readme.split("```yaml\n# tried.yaml", 1)[1].split("```", 1)[0].split("\n", 1)[1]
    assert [len(scenario.changes) for scenario in read(tmp_path, kitchen, shown)] == [1, 2]
