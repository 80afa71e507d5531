"""The benches' own arithmetic, and one short run of each search."""

import json
import math
import re

import pytest

from orchestrator.planner.score import WEIGHTS, Score, scalar
from tests.benchmarks.curves import PLANNER, Curve, curve
from tests.benchmarks.kitchens import example_request, larger_request
from tests.benchmarks.machine import instant, load, machine
from tests.benchmarks.memory import peak_mb
from tests.benchmarks.plain import FORMS
from tests.benchmarks.quality_tables import exponent
from tests.planner.planted import planted

ZERO = Score(**dict.fromkeys((f for f in WEIGHTS.__slots__), 0))
LATE = Score(**{**dict.fromkeys(WEIGHTS.__slots__, 0), "late": 3, "crew": 2})
EARLY = Score(**{**dict.fromkeys(WEIGHTS.__slots__, 0), "crew": 7})


def test_curve_tells_the_best_so_far_and_when_it_was_reached():
    found = Curve(((0.5, LATE), (4.0, EARLY)))

    assert (found.at(0.4), found.at(0.5), found.at(60)) == (None, LATE, EARLY)
    assert (found.quality(0.1), found.quality(1.0)) == (math.inf, scalar(LATE))
    assert (found.reaches(scalar(LATE)), found.reaches(scalar(EARLY)), found.reaches(0.5)) == (0.5, 4.0, math.inf)
    assert (found.on_time(), Curve(((0.5, LATE),)).on_time()) == (4.0, math.inf)


def test_scalar_is_at_least_one_and_keeps_the_order_of_scores():
    assert scalar(ZERO) == 1
    assert ZERO < EARLY < LATE
    assert scalar(ZERO) < scalar(EARLY) < scalar(LATE)


def test_exponent_of_a_known_power_law_is_its_power():
    sizes = [10.0, 40.0, 90.0]

    assert exponent(sizes, [3 * size**1.5 for size in sizes]) == pytest.approx(1.5)


@pytest.mark.parametrize("method", [PLANNER, *FORMS])
def test_each_search_finds_a_small_planted_kitchen_on_time_and_says_that_it_is_proven(method):
    found = curve(method, planted(2, 1).problem, 20.0, 0)

    assert found.on_time() <= 20.0
    assert found.proven
    assert not found.died
    assert found.peak_mb is None or found.peak_mb > 20
    assert Curve.read(json.loads(json.dumps(found.figures()))).at(60) == found.at(60)


def test_larger_request_has_more_orders_of_the_same_products():
    small, large = example_request().kitchen, larger_request().kitchen

    assert len(large.orders) == len(small.orders) + 2
    assert len({order.id for order in large.orders}) == len(large.orders)
    assert large.recipes == small.recipes


def test_figures_name_their_machine_software_and_date():
    assert re.fullmatch(r"\d+ cores of .+; Python 3\.\d+\.\d+, ortools 9\.\d+\.\d+, \w+", machine())
    assert re.fullmatch(r"20\d\d-\d\d-\d\d \d\d:\d\d UTC", instant())
    assert (found := load()) is None or found >= 0
    assert peak_mb("no such process") is None
