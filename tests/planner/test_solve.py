"""Goals in stages, what happened already, orders that cannot be met, and the search itself."""

import time
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model

from orchestrator.core.models import WindowClass
from orchestrator.planner import constraints, objective, rounds
from orchestrator.planner.budget import Budget
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.neighbourhoods import FIRST, Neighbourhoods, groups
from orchestrator.planner.problem import Due, Fixed, Machine, Place, Precedence, Problem, Schedule, Worker
from orchestrator.planner.score import lateness, score
from orchestrator.planner.score_changes import MOVED, MOVED_PER_MIN, OTHER_WORKER
from orchestrator.planner.solve import SMALL, Search, solve
from orchestrator.planner.structure import structure
from orchestrator.planner.variables import Board, Setting
from tests.planner.problems import ALWAYS, THROUGHOUT, joined, kitchen, posed, stay, work
from tests.planner.verifier import faults

SAFETY, QUALITY, PREFERENCE = WindowClass.SAFETY, WindowClass.QUALITY, WindowClass.PREFERENCE
COOK = (Worker("cook", ((0, 12), (100, 200))),)


def solved(problem: Problem, guess: Schedule | None = None) -> Schedule:
    schedule = solve(problem, guess, seconds=10, deterministic=True)
    assert faults(problem, schedule) == []
    return schedule


def aged(window: WindowClass, longest: int) -> Problem:
    """Made by the cook in hand since 0; aged from 10 on; needs the cook again, who is away from 12 to 100."""
    jobs = [
        work("mix", 10, portions=THROUGHOUT, workers=(0,), fixed=Fixed(0, 10, None, (0,))),
        stay("age", 0, 20, longest, stay_window=window),
        work("churn", 10, portions=THROUGHOUT, workers=(0,), after=joined(1)),
    ]
    return posed(jobs, now=10, workers=COOK, dues=(Due("O-0", (2,), 200),))


def test_safety_window_that_cannot_be_kept_leaves_its_order_unmet():
    problem = aged(SAFETY, 60)
    schedule = solved(problem)
    assert schedule.places == (Place(0, 10, None, ((0,),)), None, None)
    assert lateness(problem, schedule) == (None,)


def test_order_that_cannot_be_met_does_not_take_others_along():
    first = aged(SAFETY, 60)
    problem = replace(first, jobs=(*first.jobs, work("other", 10)), dues=(*first.dues, Due("O-1", (3,), 30)))
    schedule = solved(problem)
    assert lateness(problem, schedule) == (None, 0)
    assert schedule.places[3] is not None


def test_of_two_orders_that_exclude_each_other_the_weightier_is_met():
    jobs = [
        work("a", 10),
        work("b", 60, machines=(0,), after=(Precedence(0, 0, 20, SAFETY),)),
        work("c", 10),
        work("d", 60, machines=(0,), after=(Precedence(2, 0, 20, SAFETY),)),
    ]
    orders = (Due("O-0", (1,), 100), Due("O-1", (3,), 100, weight=2))
    problem = posed(jobs, horizon=90, machines=(Machine("oven"),), dues=orders)
    assert lateness(problem, solved(problem)) == (None, 0)


def test_quality_window_is_broken_only_by_what_cannot_be_avoided():
    problem = aged(QUALITY, 60)
    schedule = solved(problem)
    # The cook is back at 100: aged 90 instead of at most 60 minutes.
    assert schedule.places[1] == Place(10, 100)
    assert score(problem, schedule).breaks == 30 + 30
    assert {t[0]: t[2] for t in schedule.terms}["minutes outside quality windows"] == 30


def test_quality_window_goes_before_lateness_and_lateness_before_preference():
    jobs = [work("a", 10), work("b", 10, machines=(0,), after=(Precedence(0, 40, None, QUALITY),))]
    problem = posed(jobs, machines=(Machine("hob"),), dues=(Due("O-0", (1,), 20),))
    assert lateness(problem, solved(problem)) == (40,)
    preferred = replace(jobs[1], after=(Precedence(0, 40, None, PREFERENCE),))
    problem = replace(problem, jobs=(jobs[0], preferred))
    assert lateness(problem, solved(problem)) == (0,)


def test_preferred_window_is_kept_when_nothing_else_suffers():
    jobs = [work("a", 10), work("b", 10, after=(Precedence(0, 40, 50, PREFERENCE),))]
    problem = posed(jobs, dues=(Due("O-0", (1,), 200),))
    places = solved(problem).places
    assert places[0] is not None
    assert places[1] is not None
    assert 40 <= places[1].start - places[0].end <= 50


def test_order_is_ready_half_an_hour_before_it_is_due_rather_than_on_the_minute():
    problem = posed([work("a", 10)], dues=(Due("O-0", (0,), 300, earliest=200),))
    (place,) = solved(problem).places
    assert place is not None
    assert 200 <= place.end <= 270


def test_stay_in_hand_keeps_its_start_and_ends_as_the_next_job_begins():
    jobs = [
        stay("hold", 0, 0, 600, machines=(0,), load=50),
        work("b", 10, portions=THROUGHOUT, workers=(0,), after=joined(0)),
    ]
    jobs[0] = replace(jobs[0], after=(), fixed=Fixed(0, None, 0))
    problem = posed(
        jobs, now=30, machines=(Machine("fridge", 100, shared=True),), workers=COOK, dues=(Due("O", (1,), 90),)
    )
    assert solved(problem).places == (Place(0, 100, 0), Place(100, 110, None, ((0,),)))


def test_facts_that_break_rules_do_not_make_the_plan_impossible():
    # In fact two jobs share the only hob, one without its skill, and the fridge holds more than it should.
    jobs = [
        work("a", 60, machines=(0,), fixed=Fixed(0, 60, 0)),
        work("b", 60, machines=(0,), fixed=Fixed(10, 70, 0)),
        replace(stay("s", 0, 0, 600, machines=(1,), load=80), after=(), fixed=Fixed(0, None, 1)),
        replace(stay("t", 0, 0, 600, machines=(1,), load=80), after=(), fixed=Fixed(0, None, 1)),
        work("c", 10, machines=(0,), after=(Precedence(2, most=0), Precedence(3, most=0))),
    ]
    machines = (Machine("hob"), Machine("fridge", 100, shared=True))
    problem = posed(jobs, now=20, machines=machines, dues=(Due("O", (4,), 50),))
    schedule = solve(problem, None, seconds=5, deterministic=True)
    assert schedule.places[4] == Place(70, 80, 0)


def test_previous_places_and_people_are_kept_when_nothing_is_gained_by_moving():
    jobs = [work("a", 10, portions=THROUGHOUT, workers=(0, 1)), work("b", 10)]
    before = (Place(200, 210, None, ((1,),)), Place(150, 160))
    workers = (Worker("early", ALWAYS), Worker("late", ALWAYS))
    problem = posed(jobs, workers=workers, dues=(Due("O-0", (0,), 240), Due("O-1", (1,), 190)), previous=before)
    assert solved(problem).places == before


def test_score_prices_each_moved_job_and_changed_hand():
    jobs = [work("a", 10, portions=THROUGHOUT, workers=(0, 1)), work("b", 10)]
    before = (Place(0, 10, None, ((1,),)), Place(50, 60))
    problem = posed(jobs, workers=(Worker("early", ALWAYS), Worker("late", ALWAYS)), previous=before)
    now = Schedule((Place(0, 10, None, ((0,),)), Place(55, 65)))
    assert score(problem, now).changes == MOVED + 5 * MOVED_PER_MIN + OTHER_WORKER


@pytest.mark.parametrize("seed", range(3))
def test_kitchen_of_four_batches_is_proven_valid_and_counted_alike(seed):
    problem = kitchen(4, seed)
    # A second of processor time; a minute, for machines that have ten other things to do.
    schedule = solve(problem, None, seconds=60)
    assert faults(problem, schedule) == []
    assert schedule.proven
    # What the solver minimised is what the score counts without it.
    assert schedule.bound == score(problem, schedule).changes


def test_hint_from_a_schedule_covers_every_variable_and_is_a_solution():
    problem = kitchen(4)
    first = solve(problem, None, seconds=4, deterministic=True)
    setting = Setting(slack=True, preferences=True)
    board = Board(problem, setting, first)
    for rule in constraints.ALL:
        rule(board)
    board.model.minimize(sum(goal(board) for goal in objective.EXPRESSIONS.values()))
    proto = board.model.proto
    hinted = set(proto.solution_hint.vars)
    assert [v for v in range(len(proto.variables)) if v not in hinted and len(set(proto.variables[v].domain)) > 1] == []
    solver = cp_model.CpSolver()
    solver.parameters.fix_variables_to_their_hinted_value = True
    assert solver.solve(board.model) == cp_model.OPTIMAL
    value = score(problem, first)
    assert solver.objective_value == sum(getattr(value, goal) for goal in objective.EXPRESSIONS)


def test_guess_that_keeps_every_rule_is_never_made_worse():
    problem = kitchen(6, 3)
    guess = solve(problem, None, seconds=4, deterministic=True)
    better = solve(problem, guess, seconds=1, deterministic=True)
    assert score(problem, better) <= score(problem, guess)
    assert solve(problem, guess, seconds=0.0).places == guess.places


def test_neighbourhoods_improve_a_first_guess_of_many_batches_and_keep_every_rule():
    problem = kitchen(16, 1)
    guess = first_guess(problem)
    assert len(groups(problem)) > SMALL
    better = solve(problem, guess, seconds=2, deterministic=True)
    assert faults(problem, better) == []
    assert score(problem, better) < score(problem, guess)
    assert (better.proven, better.bound) == (False, None)


def test_neighbourhood_frees_some_work_and_the_stays_beside_it():
    problem = kitchen(16, 1)
    guess = first_guess(problem)
    around = Neighbourhoods(problem, 0)
    for _ in range(20):
        chosen = around.choose(guess)
        work = [i for i in chosen.freed if not problem.jobs[i].stay]
        # One group may go beyond what was asked for by all its jobs.
        assert FIRST <= len(work) <= FIRST + 8
        for index in work:
            beside = [*structure(problem).followers[index], *(link.after for link in problem.jobs[index].after)]
            assert [i for i in beside if problem.jobs[i].stay and i not in chosen.freed] == []


def test_round_places_only_what_is_freed_keeps_every_rule_and_counts_as_the_whole():
    """A local model sees the rest as blocked: what it finds is sound, and what it says is gained is gained."""
    for seed in range(4):
        problem = kitchen(14, seed)
        guess = first_guess(problem)
        around, budget = Neighbourhoods(problem, seed), Budget(60, deterministic=True)
        for _ in range(4):
            value = score(problem, guess)
            chosen = around.choose(guess)
            found = rounds.run(problem, guess, value, chosen, budget, seed=seed, workers=1)
            assert found.schedule is not None
            assert faults(problem, found.schedule) == []
            kept = [i for i in range(len(problem.jobs)) if i not in chosen.freed]
            assert [found.schedule.places[i] for i in kept] == [guess.places[i] for i in kept]
            assert score(problem, found.schedule).unmet <= value.unmet
            guess = min(guess, found.schedule, key=lambda schedule: score(problem, schedule))


@pytest.mark.parametrize("seed", range(3))
def test_goals_of_a_local_model_differ_as_the_scores_do(seed):
    problem = kitchen(12, seed)
    guess = first_guess(problem)
    value = score(problem, guess)
    chosen = Neighbourhoods(problem, seed).choose(guess)
    found = rounds.run(problem, guess, value, chosen, Budget(60, deterministic=True), seed=seed, workers=1).schedule
    assert found is not None
    counted = []
    for schedule in (guess, found):
        board = rounds.local(problem, schedule, replace(value, breaks=1), chosen)
        goals = {name: goal(board) for name, goal in objective.EXPRESSIONS.items()}
        solver = cp_model.CpSolver()
        solver.parameters.fix_variables_to_their_hinted_value = True
        assert solver.solve(board.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        counted.append({name: solver.value(goal) for name, goal in goals.items()})
    after = score(problem, found)
    for name in set(objective.EXPRESSIONS) - {"crew"}:
        assert counted[1][name] - counted[0][name] == getattr(after, name) - getattr(value, name)
    # Peaks of days that are known already bound those of the local model: its sum is the whole.
    assert counted[1]["crew"] - counted[0]["crew"] == after.crew - value.crew


def test_order_left_out_finds_its_place_by_a_round():
    problem = kitchen(12, 0)
    guess = first_guess(problem)
    gone = {job for job in range(len(problem.jobs)) if structure(problem).reach[job] == {3}}
    cleans = tuple(clean for clean in guess.cleans if clean.before not in gone)
    without = replace(guess, places=tuple(None if i in gone else p for i, p in enumerate(guess.places)), cleans=cleans)
    value = score(problem, without)
    assert value.unmet == problem.dues[3].weight
    chosen = Neighbourhoods(problem, 0).choose(without)
    assert chosen.wanted == {3}
    found = rounds.run(problem, without, value, chosen, Budget(60, deterministic=True), seed=0, workers=1).schedule
    assert found is not None
    assert faults(problem, found) == []
    assert score(problem, found).unmet == 0


def test_same_input_and_seed_deterministic_gives_the_same_schedule():
    problem = kitchen(6, 1)
    first, second = (solve(problem, None, seconds=2, seed=5, deterministic=True) for _ in range(2))
    assert first == second


def test_better_schedules_are_told_as_they_are_found_each_better_than_the_last():
    problem = kitchen(6, 2)
    told: list[Schedule] = []
    last = solve(problem, None, seconds=2, on_better=told.append)
    values = [score(problem, schedule) for schedule in told]
    assert values == sorted(set(values), reverse=True)
    assert values[-1] == score(problem, last)
    assert [fault for schedule in told for fault in faults(problem, schedule)] == []


def test_stop_ends_the_search_at_once():
    problem = kitchen(12, 0)
    began = time.monotonic()
    solve(problem, None, seconds=30, stop=lambda: time.monotonic() - began > 0.5)
    assert time.monotonic() - began < 5


def test_invalid_model_is_raised_with_the_solvers_words():
    model = cp_model.CpModel()
    model.new_int_var(-(2**63), 2**63 - 1, "wide")
    with pytest.raises(ValueError, match="invalid model"):
        Budget(1, deterministic=False).run(cp_model.CpSolver(), model, 1)


def test_jobs_in_a_circle_are_named():
    problem = posed([work("a", 1, after=(Precedence(1),)), work("b", 1, after=(Precedence(0),))])
    with pytest.raises(ValueError, match="circle through a"):
        structure(problem)


def test_search_knows_a_guess_that_breaks_a_rule():
    problem = posed([work("a", 10, machines=(0,)), work("b", 10, machines=(0,))], machines=(Machine("hob"),))
    broken = Schedule((Place(0, 10, 0), Place(5, 15, 0)))
    assert Search(problem, broken, Budget(5, deterministic=True), 0, None).best is None
    sound = Schedule((Place(0, 10, 0), Place(10, 20, 0)))
    assert Search(problem, sound, Budget(5, deterministic=True), 0, None).best == sound
