"""The scenes of the bench of conflicts: as large as they say, and in trouble."""

import pytest

from orchestrator.planner.demand import explode
from orchestrator.planner.plan import make_plan
from orchestrator.planner.trouble import troubled
from tests.benchmarks.conflicts import FULL, SCENES, measurements, tables
from tests.benchmarks.kitchens import grown_request


@pytest.mark.parametrize(("kitchens", "least", "most"), [(1, 15, 25), (3, 40, 60), (10, 130, 170)])
def test_grown_kitchen_has_about_so_many_batches_and_names_that_are_used_once(
    kitchens: int, least: int, most: int
) -> None:
    request = grown_request(kitchens)
    assert least <= len(explode(request).batches) <= most
    named = [thing.id for things in (request.kitchen.equipment, request.kitchen.crew) for thing in things]
    assert len(named) == len(set(named))


@pytest.mark.parametrize("name", SCENES)
def test_each_scene_has_an_order_in_trouble(name: str) -> None:
    request = SCENES[name](1)
    plan = make_plan(request, effort="repair", seconds=1.0).plan
    assert plan is not None
    assert troubled(plan, request)


def test_figures_make_one_line_each_and_tell_what_is_known() -> None:
    figures = {
        "scene": "churns stand", "seconds": 20.0, "batches": 48, "things": 139, "once_s": 2.0,
        "conflict_s": 5.0, "told_first_s": 0.1,
        "tried": 34, "parts": 8, "irreducible": True, "smallest": False, "remedies_s": 20.5, "remedies": 2,
        "complete": False,
    }  # fmt: skip
    told = tables({"one": figures})
    row = next(line for line in told.splitlines() if line.startswith("| churns stand"))
    assert "| 2.500 |" in " ".join(row.split())
    assert "| all needed |" in " ".join(row.split())
    assert "2, not all tried" in row
    assert "The longest was 0.5 s beyond it" in " ".join(told.split())
    assert "| the fewest |" in " ".join(tables({"one": {**figures, "smallest": True}}).split())
    assert "| among them |" in " ".join(tables({"one": {**figures, "irreducible": False}}).split())
    assert len(measurements(full=False)) == 1
    assert len(measurements(full=True)) == len(SCENES) * len(FULL)
