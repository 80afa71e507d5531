"""The example kitchen works as the trade ordinarily does: common practice throughout, of which we know no source.

Where a code prints a figure it decides (`test_shipped.py`, `test_check_limits.py`); these say only what is ordinary.
"""

import re
from pathlib import Path

import pytest

from orchestrator.core.models import Kitchen, Process, Recipe, Step
from orchestrator.kitchen import read_kitchen

EXAMPLE = Path(__file__).parents[2] / "config"
HOUR = 60


@pytest.fixture(scope="module")
def example() -> Kitchen:
    return read_kitchen(EXAMPLE)


def recipe(kitchen: Kitchen, name: str) -> Recipe:
    return next(one for one in kitchen.recipes if one.id == name)


def step(of: Recipe, process: Process) -> Step:
    return next(one for one in of.steps if one.process is process)


def test_puree_that_simmers_for_about_an_hour_loses_about_a_quarter(example: Kitchen) -> None:
    puree = recipe(example, "damson-puree")
    simmer, reduce = step(puree, Process.SIMMER), step(puree, Process.REDUCE)
    assert simmer.duration is not None
    assert reduce.duration is not None
    assert 45 <= simmer.duration.usual + reduce.duration.usual <= 90
    assert reduce.reduce_to is not None
    assert 0.7 <= reduce.reduce_to <= 0.8


def test_custard_is_cooked_to_82_degrees_and_never_to_where_egg_sets(example: Kitchen) -> None:
    target = step(recipe(example, "custard-base"), Process.COOK).target
    assert target is not None
    assert (target.at_least, target.ceiling) == (82, 85)


def test_base_ages_overnight_and_up_to_72_hours_in_the_fridge(example: Kitchen) -> None:
    age = step(recipe(example, "custard-base"), Process.AGE)
    assert age.stay is not None
    assert 8 * HOUR <= age.stay.least <= 16 * HOUR
    assert age.stay.most == 72 * HOUR
    assert age.equipment == "fridge"


@pytest.mark.parametrize("product", ["basil-custard", "hazelnut-custard", "damson-sorbet"])
def test_product_freezes_for_six_hours_at_least_and_tempers_for_some_minutes(example: Kitchen, product: str) -> None:
    made = recipe(example, product)
    harden, hold, temper = (step(made, p) for p in (Process.HARDEN, Process.STORE, Process.TEMPER))
    assert harden.duration is not None
    assert hold.stay is not None
    assert harden.duration.usual + hold.stay.least >= 6 * HOUR
    assert temper.duration is not None
    assert 5 <= temper.duration.shortest <= temper.duration.longest <= HOUR


def test_wafers_bake_for_five_or_six_minutes_at_about_200_degrees_and_are_rolled_by_whoever_bakes(
    example: Kitchen,
) -> None:
    bake = step(recipe(example, "wafer-cones"), Process.BAKE)
    assert bake.cycle is not None
    assert 5 <= bake.cycle.each <= 6
    # Shaped within seconds: somebody stands there all the while, and nothing lies between baking and rolling.
    assert [one.when for one in bake.attended] == ["throughout"]
    heat = re.search(r"oven to (\d+) °C", " ".join(bake.method))
    assert heat is not None
    assert 190 <= int(heat.group(1)) <= 210
