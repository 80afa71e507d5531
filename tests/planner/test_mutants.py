"""Every single change of a valid plan that breaks a rule is caught by the checker."""

import random
from itertools import islice

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from orchestrator.core.check import check
from orchestrator.core.models import PlanRequest
from orchestrator.planner.plan import make_plan, workbench
from tests.benchmarks.kitchens import example_request
from tests.fakes.tiny import tiny_request
from tests.planner.mutants import damaged, judged, mutants
from tests.planner.test_random_kitchens import kitchens
from tests.planner.verifier import faults

EVERY = 12
"""Of the example's mutants, each of which is a plan of a hundred tasks: all of them by `python -m tests.benchmarks`."""


@pytest.mark.parametrize("offset", [0, 7])
def test_mutants_of_the_example_plan_do_not_escape(offset):
    bench = workbench(example_request())
    assert faults(bench.problem, bench.schedule) == []
    assert bench.faults(bench.schedule) == ()

    verdict = judged(bench, islice(mutants(bench.problem, bench.schedule), offset, None, EVERY))

    assert verdict.escaped == []
    assert verdict.caught.total() > 0.8 * verdict.tried.total() > 100
    assert {"moved", "swapped", "other machine", "other person"} <= verdict.caught.keys()


@settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.generate],  # shrinking would try thousands of plans
)
@given(data=kitchens(), seed=st.integers(0, 99))
def test_mutants_of_small_kitchens_made_by_chance_do_not_escape(data, seed):
    bench = workbench(tiny_request(data))
    assert bench.faults(bench.schedule) == ()
    found = list(mutants(bench.problem, bench.schedule))
    chosen = random.Random(seed).sample(found, min(80, len(found)))

    assert judged(bench, chosen).escaped == []


@pytest.mark.parametrize("request_of", [example_request, tiny_request])
def test_damage_to_the_plan_as_written_is_caught(request_of):
    request: PlanRequest = request_of()
    plan = make_plan(request, effort="repair", seconds=1.0).plan
    assert plan is not None
    assert check(plan, request) == ()

    missed = [what for what, changed in damaged(plan) if not check(changed, request)]

    assert missed == []
