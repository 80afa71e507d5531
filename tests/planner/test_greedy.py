"""Iterated greedy search: never worse, every rule kept, repeatable; and the ledger counts as the score does."""

from dataclasses import replace

import pytest

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.greedy import Limit, Search, improve
from orchestrator.planner.lags import network
from orchestrator.planner.placer import placed_again
from orchestrator.planner.problem import Due, Fixed, Job, Machine, Precedence, Problem
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
    accepted = 0
    for _ in range(40):
        accepted += search.trial()
        mark = search.placer.journal.mark()
        written = search.placer.schedule("now")
        search.placer.journal.undo(mark)
        assert search.ledger.score() == score(again, written)
    assert accepted > 0


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


def test_search_places_no_work_that_follows_what_has_no_place() -> None:
    # The base of both orders needs a hob that is stopped for good: neither churn can be, though both churns are free.
    after = (Precedence(0, 0, None),)
    jobs = (
        Job("base", 30, 30, machines=(0,)),
        Job("churn A", 20, 20, machines=(1,), after=after),
        Job("churn B", 20, 20, machines=(1,), after=after),
        Job("spare", 20, 20, machines=(1,)),
    )
    machines = (Machine("hob", stops=((0, 500),)), Machine("churn"))
    dues = tuple(Due(name, (job,), 200) for name, job in (("A", 1), ("B", 2), ("C", 3)))
    asked = Problem(ORIGIN, 0, 500, jobs, machines, dues=dues)
    search = Search(asked, first_guess(asked), seed=0)
    for _ in range(100):
        search.trial_and_keep()
        assert search.placer.starts.keys() == {3}


def test_search_knows_that_food_already_there_is_in_the_way_until_it_is_taken() -> None:
    # 6 of the freezer's 9 L lie there until they are handed over at 100; 5 L more fit from then on, not before.
    jobs = (
        Job("ready", 0, 500, machines=(0,), stay=True, load=6, fixed=Fixed(0, None, 0)),
        Job("hand over", 10, 10, after=(Precedence(0, 0, 0),)),
        Job("harden", 20, 20, machines=(1,)),
        Job("new", 0, 500, machines=(0,), stay=True, load=5, after=(Precedence(2, 0, 0),)),
        Job("hand over new", 10, 10, after=(Precedence(3, 0, 0),)),
    )
    machines = (Machine("freezer", capacity=9, shared=True), Machine("blast"))
    asked = Problem(ORIGIN, 0, 500, jobs, machines, dues=(Due("A", (1,), 110), Due("B", (4,), 140)))
    guess = first_guess(asked)
    handed, hardened = guess.places[1], guess.places[2]
    assert handed is not None
    assert hardened is not None
    assert hardened.end >= handed.start >= 60
    again = placed_again(asked, network(asked), guess)
    again.remove(4)
    again.remove(2)
    # It must last until its own hand-over, and the first minute it may come is that of the other's.
    assert again.commit(4, 200)
    assert again.domain(2, 0, 400) & ((1 << (handed.start - 20)) - 1) == 0
    assert again.domain(2, 0, 400) >> (handed.start - 20) & 1
