"""A first kitchen: readable at once, and never written over anything."""

from datetime import date
from pathlib import Path

import pytest

from orchestrator.core.models import PlanRequest
from orchestrator.kitchen import check_summary, new_kitchen, read_kitchen
from orchestrator.planner.plan import make_plan


@pytest.mark.parametrize(
    "first_day", [None, date(2026, 3, 28), date(2026, 10, 24), date(2027, 2, 27), date(2028, 12, 30)]
)
def test_new_kitchen_is_read_without_faults(tmp_path: Path, first_day: date | None) -> None:
    new_kitchen(tmp_path / "mine", first_day=first_day)
    counts = check_summary(read_kitchen(tmp_path / "mine"))
    assert (counts["products"], counts["components"], counts["crew"], counts["orders"]) == (1, 0, 2, 1)


def test_new_kitchen_names_what_it_wrote(tmp_path: Path) -> None:
    written = new_kitchen(tmp_path / "mine")
    assert set(written) == {path for path in (tmp_path / "mine").rglob("*") if path.is_file()}


def test_new_kitchen_in_a_used_folder_overwrites_nothing(tmp_path: Path) -> None:
    (tmp_path / "kitchen.yaml").write_text("name: Mine", encoding="utf-8")
    with pytest.raises(FileExistsError, match="nothing is overwritten"):
        new_kitchen(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["kitchen.yaml"]
    assert (tmp_path / "kitchen.yaml").read_text(encoding="utf-8") == "name: Mine"


def test_new_kitchen_in_place_of_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("a note", encoding="utf-8")
    with pytest.raises(FileExistsError, match="nothing is overwritten"):
        new_kitchen(tmp_path / "mine")


def test_new_kitchen_can_be_planned_on_time(tmp_path: Path) -> None:
    new_kitchen(tmp_path / "mine", first_day=date(2026, 11, 25))
    kitchen = read_kitchen(tmp_path / "mine")
    answer = make_plan(PlanRequest(kitchen=kitchen, now=kitchen.planning_start), effort="repair", seconds=1)
    assert answer.plan is not None
    assert [(outlook.order, outlook.met, outlook.late_min) for outlook in answer.plan.outlooks] == [
        ("FIRST-ORDER", True, 0)
    ]
