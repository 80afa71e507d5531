"""Iterated greedy search: never worse, every rule kept, repeatable; and the ledger counts as the score does."""

from dataclasses import replace

import pytest

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.greedy import Limit, Search, improve
from orchestrator.planner.problem import Due, Job, Machine, Problem
from orchestrator.planner.score import score
from tests.planner.planted import planted
from tests.planner.problems import ORIGIN, kitchen
from tests.planner.verifier import faults


@pytest.mark.parametrize("seed", range(4))
def test_improve_keeps_every_rule_and_is_no_worse(seed: int) -> None:
    asked = planted(12, seed, tightness=0.9).problem
    guess = first_guess(asked)
    best = improve(asked, guess, Limit(trials=150), seed=seed)
    assert faults(asked, best) == []
    assert score(asked, best) <= score(asked, guess)


def test_improve_makes_a_late_plan_of_a_kitchen_that_can_be_on_time_better() -> None:
    asked = planted(30, 0, tightness=0.9).problem
    guess = first_guess(asked)
    best = improve(asked, guess, Limit(trials=300))
    assert score(asked, best) < score(asked, guess)
    assert faults(asked, best) == []


@pytest.mark.parametrize("seed", range(3))
def test_ledger_counts_what_score_counts_after_every_trial(seed: int) -> None:
    asked = kitchen(8, seed)
    adopted = first_guess(asked)
    # A re-plan with a hot churn and a cook in reserve, so that every goal has something to count.
    again = replace(
        asked,
        previous=adopted.places,
        cleans_before=adopted.cleans,
        machines=tuple(replace(m, hot=m.id.startswith("hob")) for m in asked.machines),
        workers=tuple(replace(w, reserve=w.id == "counter-hand") for w in asked.workers),
    )
    search = Search(again, adopted, seed)
    for _ in range(40):
        search.trial()
        mark = search.placer.journal.mark()
        written = search.placer.schedule("now")
        search.placer.journal.undo(mark)
        assert search.ledger.score() == score(again, written)
    assert search.accepted > 0


def test_improve_same_seed_and_trials_give_the_same_plan() -> None:
    asked = planted(8, 1).problem
    guess = first_guess(asked)
    one, two = (improve(asked, guess, Limit(trials=60), seed=3) for _ in range(2))
    assert one == two
    assert one != improve(asked, guess, Limit(trials=60), seed=4)


def test_improve_swaps_two_jobs_that_are_the_wrong_way_round() -> None:
    # One hob; the long job first makes the short one 50 min late. By hand: short 0-10, long 10-60, nothing late.
    jobs = (Job("long", 50, 50, machines=(0,)), Job("short", 10, 10, machines=(0,)))
    asked = Problem(
        ORIGIN, 0, 500, jobs, (Machine("hob"),), dues=(Due("A", (0,), 90), Due("B", (1,), 40)),
    )  # fmt: skip
    wrong = first_guess(replace(asked, dues=(Due("A", (0,), 50), Due("B", (1,), 90))))
    assert score(asked, wrong).late > 0
    assert score(asked, improve(asked, wrong, Limit(trials=30))).late == 0


def test_improve_tells_of_better_plans_and_stops_when_told() -> None:
    asked = planted(8, 0).problem
    guess = first_guess(asked)
    assert improve(asked, guess, Limit(seconds=30), stop=lambda: True) == guess
