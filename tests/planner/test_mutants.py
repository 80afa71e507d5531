"""Every single change of a valid plan that breaks a rule is caught by the checker."""

import random
from dataclasses import replace
from itertools import islice

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from orchestrator.core import check as core_check
from orchestrator.core.check import check, heat
from orchestrator.core.models import PlanRequest
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.plan import Workbench, make_plan, workbench
from tests.benchmarks.kitchens import example_request
from tests.fakes.tiny import tiny_request
from tests.planner.mutants import damaged, judged, mutants
from tests.planner.test_heat import two_products
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


def frozen(how: str) -> Workbench:
    """Two products hardened in one freezer, where more than `alone` of warm food takes half as long again."""
    if how == "each too much by itself":
        return workbench(two_products(alone="3 L"))
    bench = workbench(two_products())
    if how == "apart":
        return bench
    # Every batch has its crowded time from the start, so that both can be in at once.
    together = generate(bench.problem, network(bench.problem), "forwards, earliest", careful=True)
    return replace(bench, posed=replace(bench.posed, guess=together))


@pytest.mark.parametrize("how", ["apart", "together", "each too much by itself"])
def test_mutants_do_not_escape_where_heat_binds(monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    bench = frozen(how)
    assert bench.faults(bench.schedule) == ()
    assert faults(bench.problem, bench.schedule) == []
    jobs = bench.problem.jobs
    spans = [place for job, place in zip(jobs, bench.schedule.places, strict=True) if job.id.endswith("harden")]
    one, other = (place for place in spans if place is not None)
    crowded = 270  # three hours, half as long again
    assert (one.start < other.end and other.start < one.end) == (how != "apart")
    assert [place.end - place.start for place in (one, other)] == [180 if how == "apart" else crowded] * 2

    found = list(mutants(bench.problem, bench.schedule))
    verdict = judged(bench, found)
    assert verdict.escaped == []
    # Nothing but the rule of heat stands against some of these: without it in the checker they escape, and the judge
    # tells them from those that are sound.
    monkeypatch.setattr(core_check, "RULES", tuple(rule for rule in core_check.RULES if rule is not heat.crowded))
    escaped = judged(bench, found).escaped
    assert len(escaped) >= {"apart": 1, "together": 4, "each too much by itself": 2}[how]
    assert all("crowded for" in said for said in escaped)


@pytest.mark.parametrize("request_of", [example_request, tiny_request])
def test_damage_to_the_plan_as_written_is_caught(request_of):
    request: PlanRequest = request_of()
    plan = make_plan(request, effort="repair", seconds=1.0).plan
    assert plan is not None
    assert check(plan, request) == ()

    missed = [what for what, changed in damaged(plan) if not check(changed, request)]

    assert missed == []
