"""A search that leaves out an order which the plan before it met never wins, however sound and good the rest is."""

import random
from collections.abc import Callable
from dataclasses import astuple, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.check import check
from orchestrator.core.models import PlanRequest
from orchestrator.planner import greedy, improvers
from orchestrator.planner import solve as solving
from orchestrator.planner.checked import Candidate, assembled, put_keeping_holds
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.greedy import trouble
from orchestrator.planner.greedy_ledger import TROUBLE
from orchestrator.planner.neighbourhoods import groups
from orchestrator.planner.plan import make_plan, workbench
from orchestrator.planner.posing import Question
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, lateness, score
from orchestrator.planner.structure import structure
from tests.benchmarks.kitchens import example_request
from tests.fakes.tiny import tiny_request
from tests.planner.problems import kitchen
from tests.planner.verifier import faults

GOALS = tuple(Score.__slots__)


def without(problem: Problem, schedule: Schedule, order: int) -> Schedule:
    """All work that serves this order alone is gone: what is left keeps every rule, and waits and costs less."""
    reach = structure(problem).reach
    gone = {job for job, serves in enumerate(reach) if serves == {order} and problem.jobs[job].fixed is None}
    places = tuple(None if job in gone else place for job, place in enumerate(schedule.places))
    cleans = tuple(clean for clean in schedule.cleans if clean.before not in gone)
    return replace(schedule, places=places, cleans=cleans)


def unmet(problem: Problem, schedule: Schedule) -> list[int]:
    return [order for order, minutes in enumerate(lateness(problem, schedule)) if minutes is None]


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    met=st.lists(st.integers(0, 10**6), min_size=len(GOALS) - 1, max_size=len(GOALS) - 1),
    left_out=st.lists(st.integers(0, 10**6), min_size=len(GOALS) - 1, max_size=len(GOALS) - 1),
    unmet_before=st.integers(0, 50),
    weight=st.integers(1, 9),
)
def test_score_with_an_order_less_is_worse_whatever_all_other_goals_are(
    met: list[int], left_out: list[int], unmet_before: int, weight: int
) -> None:
    # Weights of orders are 1 or more (`Order.weight`), so the first goal alone decides.
    assert Score(unmet_before, *met) < Score(unmet_before + weight, *left_out)


@pytest.mark.parametrize("seed", range(4))
def test_score_counts_each_order_that_is_left_out(seed: int) -> None:
    problem = kitchen(6, seed)
    whole = first_guess(problem)
    assert unmet(problem, whole) == []
    for order, due in enumerate(problem.dues):
        less = without(problem, whole, order)
        assert unmet(problem, less) == [order]
        assert score(problem, less).unmet == due.weight > 0 == score(problem, whole).unmet
        assert score(problem, whole) < score(problem, less)
        # Wandering search may pass through such a plan only where the trouble before was worth an order.
        assert trouble(score(problem, less)) >= TROUBLE["unmet"] * due.weight


class Tempted:
    """An improver that offers the plan less one order: on time, with less of everything else."""

    offered = 0
    count = 0
    workers = 1
    lively = True

    def __init__(self, problem: Problem, budget: object, seed: int) -> None:
        self._problem, self._chance = problem, random.Random(seed)
        self._left = 30
        self._budget = budget

    def step(self, best: Schedule, value: Score, over: object = None) -> Schedule | None:
        self._left -= 1
        if not self._left:
            self._budget.spend(10**6)  # type: ignore[attr-defined]
        type(self).offered += 1
        return without(self._problem, best, self._chance.randrange(len(self._problem.dues)))

    def again(self, before: Schedule, lost: Schedule) -> None:
        """Nothing is learned."""


@pytest.mark.parametrize("seed", range(3))
def test_solve_never_keeps_what_an_improver_gains_by_leaving_an_order_out(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    problem = kitchen(12, seed)
    assert len(groups(problem)) > solving.SMALL
    guess = first_guess(problem)
    assert unmet(problem, guess) == []
    less = without(problem, guess, 0)
    # It is tempting: sound but for the order, and better in most of what comes after.
    assert faults(problem, less) == []
    assert (
        sum(b < a for a, b in zip(astuple(score(problem, guess))[1:], astuple(score(problem, less))[1:], strict=True))
        >= 2
    )
    monkeypatch.setattr(Tempted, "offered", 0)
    monkeypatch.setattr(solving, "Rounds", Tempted)
    monkeypatch.setattr(solving, "Greedy", Tempted)
    told: list[Schedule] = []
    best = solving.solve(problem, guess, seconds=5, seed=seed, deterministic=True, on_better=told.append)
    assert Tempted.offered >= 30
    assert unmet(problem, best) == []
    assert [unmet(problem, schedule) for schedule in told if unmet(problem, schedule)] == []


@pytest.mark.parametrize("seed", range(3))
def test_greedy_search_that_wanders_brings_every_order_back(seed: int) -> None:
    problem = kitchen(12, seed)
    guess = first_guess(problem)
    search = greedy.Search(problem, guess, seed)
    order = 3
    for job in sorted(range(len(problem.jobs)), reverse=True):
        alone = structure(problem).reach[job] == {order} and not problem.jobs[job].stay
        if alone and job in search.placer.starts:
            search.placer.remove(job)
    search.ledger.count_all()
    search.now = search.ledger.score()
    assert search.now.unmet == problem.dues[order].weight
    # What it stands at lacks an order; what it tells has all of them.
    assert unmet(problem, search.written_down()) == []
    for _ in range(40):
        search.trial_and_keep()
    assert unmet(problem, search.written_down()) == []


def _all_improvers() -> list[str]:
    return [name for name, what in vars(improvers).items() if isinstance(what, type) and hasattr(what, "step")]


def test_every_improver_is_behind_the_same_gate() -> None:
    # Another one must go through `Search._offer` too, and into the test above.
    assert sorted(_all_improvers()) == ["Greedy", "Rounds"]


@pytest.mark.parametrize("request_of", [tiny_request, example_request])
def test_make_plan_of_a_search_that_soundly_leaves_an_order_out_offers_the_first_plan(
    monkeypatch: pytest.MonkeyPatch, request_of: Callable[[], PlanRequest]
) -> None:
    request = request_of()
    order = request.kitchen.orders[0].id
    question = Question(request, unmet={order: "left out by a search"})
    posed = put_keeping_holds(question)
    mutant = Candidate(question, posed, posed.guess)
    plan, broken = assembled(mutant)
    # The checker has nothing against it: an order may be left out. Only what it is worth stands against it.
    assert broken == ()
    assert plan is not None
    assert [outlook.order for outlook in plan.outlooks if not outlook.met] == [order]
    monkeypatch.setattr("orchestrator.planner.plan.searched", lambda _first, _how: [mutant])
    offered = make_plan(request, effort="full", seconds=1, deterministic=True).plan
    assert offered is not None
    assert check(offered, request) == ()
    assert [outlook.order for outlook in offered.outlooks if not outlook.met] == []


def test_solver_that_leaves_out_work_of_an_order_is_not_even_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    request = tiny_request()
    bench = workbench(request)
    assert bench.faults(without(bench.problem, bench.schedule, 0)) != ()
    monkeypatch.setattr("orchestrator.planner.solve.solve", lambda problem, guess, **_told: without(problem, guess, 0))
    offered = make_plan(request, effort="full", seconds=1, deterministic=True).plan
    assert offered is not None
    assert [outlook.order for outlook in offered.outlooks if not outlook.met] == []
