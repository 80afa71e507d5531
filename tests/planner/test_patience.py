"""Somebody waits for a repair: it ends with what it has, always with a plan, and repeats where only work is counted."""

import math
import random
import time
from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.cli.example import example_kitchen
from orchestrator.core.models import PlanRequest, Stop
from orchestrator.kitchen import read_kitchen
from orchestrator.planner import posing
from orchestrator.planner.checked import put_keeping_holds
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.generation import generate
from orchestrator.planner.grouping import Grouping
from orchestrator.planner.lags import network
from orchestrator.planner.patience import OVERDRAWN_LOOKS, OutOfPatience, Patience
from orchestrator.planner.plan import REPAIR_LOOKS, make_plan, workbench
from orchestrator.planner.posing import Question, constructed
from orchestrator.planner.problem import Problem
from orchestrator.planner.repair import repair
from tests.benchmarks.conflicts import churns_stand
from tests.fakes.drift import later
from tests.planner.planned import planned


def test_patience_without_limits_is_never_over() -> None:
    endless = Patience()
    endless.looks -= 10**9
    with endless.part(0.1):
        assert not endless.over


def test_patience_is_over_by_looks_or_by_the_clock() -> None:
    assert not Patience(looks=1).over
    assert Patience(looks=0).over
    assert Patience(ends=time.process_time() - 1).over
    assert not Patience(ends=time.process_time() + 1000).over
    assert not Patience(looks=0).overdrawn
    assert Patience(looks=-OVERDRAWN_LOOKS).overdrawn
    assert Patience(ends=time.process_time() - 1).overdrawn


def test_patience_lasts_for_what_there_is_enough_of() -> None:
    assert Patience().lasts(10**9, 10**9)
    assert Patience(looks=10).lasts(10, 1.0)
    assert not Patience(looks=10).lasts(11, 0.0)
    assert not Patience(ends=time.process_time() + 1).lasts(1, 2.0)


def test_patience_in_parts_keeps_the_rest_for_later() -> None:
    patience = Patience(looks=100)
    with patience.part(0.3):
        assert patience.looks == 30
        patience.looks -= 40  # the last thing tried goes a little over
        assert patience.over
    assert patience.looks == 60
    with patience.part(0.5), patience.part(0.5):
        assert patience.looks == 15
    assert patience.looks == 60
    ends = time.process_time() + 1000
    timed = Patience(ends=ends)
    with timed.part(0.25):
        assert timed.ends == pytest.approx(ends - 750, abs=1)
    assert timed.ends == ends


@pytest.fixture(scope="module")
def disturbed() -> PlanRequest:
    """The example kitchen on its second day, with every hob, and then the churn, standing for a day."""
    kitchen = read_kitchen(example_kitchen())
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    state = later(request, planned(request), request.now + timedelta(hours=28), random.Random(3))
    until = state.now + timedelta(hours=24)
    gone = [m.id for m in kitchen.equipment if m.kind in ("hob", "churn")]
    assert len(gone) > 1
    return state.model_copy(update={"stops": tuple(Stop(equipment=m, start=state.now, end=until) for m in gone)})


def asked(state: PlanRequest, looks: float) -> tuple[Patience, Problem]:
    """What is left of so many looks after a whole question has been put with them, and its problem."""
    patience = Patience(looks)
    posed = put_keeping_holds(Question(state), lambda problem: constructed(problem, patience), patience)
    return patience, posed.problem


def test_repair_out_of_patience_from_the_start_is_still_a_checked_plan(disturbed: PlanRequest) -> None:
    for seconds in (0.0, -1.0):
        answer = make_plan(disturbed, effort="repair", seconds=seconds)
        assert answer.plan is not None
        assert answer.violations == ()


def test_full_plan_without_time_is_repaired_in_haste_and_still_a_checked_plan(disturbed: PlanRequest) -> None:
    answer = make_plan(disturbed, effort="full", seconds=0.0)
    assert answer.plan is not None
    assert answer.violations == ()


def test_repair_that_is_awaited_looks_about_as_often_as_it_may(disturbed: PlanRequest) -> None:
    endless = Patience(looks=10**9)
    put_keeping_holds(Question(disturbed), lambda problem: constructed(problem, endless), endless)
    # A repair that takes its time looks several times as often here; else there is nothing to end.
    assert 10**9 - endless.looks > 2 * REPAIR_LOOKS
    patience, problem = asked(disturbed, REPAIR_LOOKS)
    # What is under way is ended, and what is left out is put anew at once.
    assert -REPAIR_LOOKS / 2 < patience.looks < REPAIR_LOOKS
    assert any(job.fixed is not None for job in problem.jobs)


def test_repair_that_counts_work_alone_repeats(disturbed: PlanRequest) -> None:
    twice = [make_plan(disturbed, effort="repair", seconds=0.0, deterministic=True).plan for _ in range(2)]
    assert twice[0] is not None
    assert twice[0] == twice[1]


def test_repair_with_more_patience_is_no_worse(disturbed: PlanRequest) -> None:
    unmet = [left_out(disturbed, looks) for looks in (0, REPAIR_LOOKS, math.inf)]
    assert unmet == sorted(unmet, reverse=True)


def left_out(state: PlanRequest, looks: float) -> int:
    patience, question = Patience(looks), Question(state)
    put_keeping_holds(question, lambda problem: constructed(problem, patience), patience)
    return len(question.unmet)


def test_other_rules_end_once_patience_is_over(disturbed: PlanRequest) -> None:
    problem = replace(workbench(disturbed).problem, previous=())
    with pytest.raises(OutOfPatience):
        generate(problem, network(problem), "forwards, earliest", patience=Patience(looks=0))
    with pytest.raises(OutOfPatience):
        first_guess(problem, Patience(looks=0))


def test_first_plan_is_not_hurried() -> None:
    kitchen = read_kitchen(example_kitchen())
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    problem = workbench(request).problem
    assert repair(problem, patience=Patience(looks=0)) == first_guess(problem)


def test_first_plan_ended_early_leaves_out_at_once_what_finds_no_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody waits through question after question, each a few orders smaller, for a plan that was called off."""
    anew = churns_stand(1)
    asked = []

    def counted(request: PlanRequest, grouping: Grouping) -> Demand:
        asked.append(len(request.kitchen.orders))
        return explode(request, grouping)

    monkeypatch.setattr(posing, "explode", counted)
    answers, rounds = [], []
    for stop in (None, lambda: True):
        asked.clear()
        answers.append(make_plan(anew, effort="full", seconds=0.0, stop=stop))
        rounds.append(len(asked))
    assert rounds[1] < rounds[0], rounds
    for answer in answers:
        assert answer.plan is not None
        assert answer.violations == ()
