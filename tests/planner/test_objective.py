"""The goals: counted alike in the model and without it, and each of their prices shows in a plan made by hand."""

import random
from dataclasses import asdict, replace
from pathlib import Path

import pytest
from ortools.sat.python import cp_model

from orchestrator.core.models import PlanRequest, WindowClass
from orchestrator.kitchen import read_kitchen
from orchestrator.planner import constraints, objective
from orchestrator.planner.demand import explode
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Due, Family, Machine, Portion, Precedence, Problem, Schedule, Worker
from orchestrator.planner.score import Score, scalar, score
from orchestrator.planner.solve import solve
from orchestrator.planner.variables import Board, Setting
from orchestrator.planner.wishes import Rule
from tests.planner.problems import ALWAYS, DAY, THROUGHOUT, joined, kitchen, posed, stay, work

CONFIG = Path(__file__).parents[2] / "config"


def example() -> Problem:
    kitchen = read_kitchen(CONFIG)
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    return pose(request, explode(request))


def dressed(batches: int, seed: int) -> Problem:
    """A made-up kitchen in which every goal has something to count: heat, a reserve, wishes, what is left over."""
    chance, plain = random.Random(seed), kitchen(batches, seed)
    jobs = [
        replace(job, after=tuple(replace(link, least=15, window=WindowClass.PREFERENCE) for link in job.after))
        if job.id.endswith("chill")
        else job
        for job in plain.jobs
    ]
    for batch in range(batches):
        lasts = chance.choice((600, 2 * DAY, 7 * DAY))
        jobs.append(stay(f"L{batch + 1}.rest", 8 * batch + 4, 0, lasts, machines=(6,), load=chance.choice((10, 50))))
    machines = tuple(replace(machine, hot=machine.id in ("hob-1", "hob-2", "blast")) for machine in plain.machines)
    workers = tuple(replace(worker, reserve=worker.id == "late-cook") for worker in plain.workers)
    return replace(plain, jobs=tuple(jobs), machines=machines, workers=workers)


def counted(problem: Problem, schedule: Schedule) -> dict[str, int]:
    """What the model makes of a schedule, each of its variables at its hint."""
    board = Board(problem, Setting(slack=True, preferences=True), schedule)
    for rule in constraints.ALL:
        rule(board)
    goals = {name: expression(board) for name, expression in objective.EXPRESSIONS.items()}
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.fix_variables_to_their_hinted_value = True
    assert solver.solve(board.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return {name: solver.value(goal) for name, goal in goals.items()}


def scored(problem: Problem, schedule: Schedule) -> dict[str, int]:
    """The same without the model."""
    value = asdict(score(problem, schedule))
    del value["unmet"]
    return value


def test_goals_of_the_example_in_the_model_are_what_score_counts() -> None:
    problem = example()
    guess = first_guess(problem)
    assert counted(problem, guess) == scored(problem, guess)


def test_goals_of_a_plan_again_count_changes_alike() -> None:
    problem = example()
    other = generate(problem, network(problem), "backwards, by due")
    again = replace(problem, previous=other.places, cleans_before=other.cleans)
    guess = first_guess(problem)
    assert counted(again, guess) == scored(again, guess)
    assert score(again, guess).calm > score(problem, guess).calm == 0


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("rule", ["backwards, by due", "forwards, earliest"])
def test_goals_of_any_kitchen_are_counted_alike(seed: int, rule: Rule) -> None:
    problem = dressed(6, seed)
    schedule = generate(problem, network(problem), rule)
    assert None not in schedule.places
    assert counted(problem, schedule) == scored(problem, schedule)


def test_dressed_kitchens_leave_no_goal_uncounted() -> None:
    problems = [dressed(6, seed) for seed in range(6)]
    found = [score(problem, generate(problem, network(problem), "forwards, earliest")) for problem in problems]
    for goal in ("waste", "freshness", "cleaning", "crew", "changes"):
        assert max(getattr(value, goal) for value in found) > 0


def test_scalar_of_a_perfect_plan_is_one_and_an_earlier_goal_outweighs_a_later() -> None:
    perfect = Score(0, 0, 0, 0, 0, 0, 0, 0, 0)
    assert scalar(perfect) == 1
    worse = [scalar(replace(perfect, **{goal: 1})) for goal in objective.GOALS]
    assert worse == sorted(worse, reverse=True)


def solved(problem: Problem) -> Schedule:
    return solve(problem, None, seconds=10, deterministic=True)


def starts(schedule: Schedule) -> list[int]:
    return [place.start for place in schedule.places if place is not None]


def test_hand_over_is_ready_half_an_hour_before_it_is_due() -> None:
    assert starts(solved(posed([work("hand-over", 10)], dues=(Due("O", (0,), 300),)))) == [260]


def test_step_that_must_follow_soon_follows_at_once() -> None:
    # The churn must be done by 300 - 30 = 270; the mix may lie up to 60 min before it, and does not.
    mix, churn = work("mix", 10), work("churn", 30, after=(Precedence(0, 0, 60, WindowClass.QUALITY),))
    assert starts(solved(posed([mix, churn], dues=(Due("O", (1,), 300),)))) == [230, 240]


def test_manager_is_asked_only_where_nobody_else_is_free() -> None:
    tasks = [work(name, 10, portions=THROUGHOUT, workers=(0, 1)) for name in "ab"]
    crew = (Worker("manager", ALWAYS, reserve=True), Worker("cook", ALWAYS))
    told = solved(posed(tasks, workers=crew, dues=(Due("O", (0,), 100), Due("P", (1,), 100))))
    # Both end at 70 by right; one of them ten minutes earlier costs more than the manager's ten minutes.
    hands = sorted(place.workers for place in told.places if place is not None)
    assert hands == [((0,),), ((1,),)]
    apart = solved(posed(tasks, workers=crew, dues=(Due("O", (0,), 100), Due("P", (1,), 200))))
    assert [place.workers for place in apart.places if place is not None] == [((1,),), ((1,),)]


def test_whoever_begins_a_task_ends_it() -> None:
    portions = (Portion("start", 5), Portion("end", 5))
    crew = (Worker("early", ALWAYS), Worker("late", ALWAYS))
    told = solved(
        posed([work("chill", 60, portions=portions, workers=(0, 1))], workers=crew, dues=(Due("O", (0,), 200),))
    )
    place = told.places[0]
    assert place is not None
    assert place.workers[0] == place.workers[1]


def test_runs_of_a_day_go_from_fewest_allergens_to_most() -> None:
    families = [frozenset({"milk", "nut"}), frozenset[str](), frozenset({"milk"})]
    runs = [
        work(name, 30, machines=(0,), family=Family(allergens, name))
        for name, allergens in zip(("nut", "sorbet", "custard"), families, strict=True)
    ]
    churn = Machine("churn", rinse=15, full=40, cleaners=(0,))
    orders = tuple(Due(run.id, (i,), 600) for i, run in enumerate(runs))
    told = solved(posed(runs, machines=(churn,), workers=(Worker("cook", ALWAYS),), dues=orders))
    assert sorted(range(3), key=lambda run: starts(told)[run]) == [1, 2, 0]
    assert [clean.full for clean in told.cleans] == [False, False]


def test_fresh_food_is_made_near_its_use_and_what_lasts_may_be_early() -> None:
    def kept(keeps: int) -> int:
        jobs = [
            work("make", 10, portions=THROUGHOUT, workers=(0,)),
            stay("keep", 0, 0, 5 * DAY, keeps=keeps),
            work("use", 10, after=joined(1)),
        ]
        shifts = Worker("cook", tuple((day * DAY, day * DAY + 480) for day in range(5)))
        told = solved(posed(jobs, horizon=5 * DAY, workers=(shifts,), dues=(Due("O", (2,), 4 * DAY),)))
        return starts(told)[0] // DAY

    assert (kept(4 * DAY), kept(60 * DAY)) == (3, 1)


def test_machine_that_stays_hot_is_used_close_together() -> None:
    """Nuts that keep are roasted at once, unless the oven is hot for the cones of that day anyway."""

    def roasted(*, hot: bool, shared: bool) -> int:
        jobs = [
            work("nuts", 30, machines=(0,), load=1),
            stay("keep", 0, 0, 5 * DAY, keeps=60 * DAY),
            work("grind", 10, after=joined(1)),
            work("cones", 30, machines=(0,), load=1, release=400),
            work("hand-over", 10, after=(Precedence(2), Precedence(3))),
        ]
        oven = Machine("oven", 2, shared=shared, hot=hot)
        problem = posed(jobs, machines=(oven,), dues=(Due("O", (4,), 480),))
        told = solved(problem)
        heat = {name: value for name, _, value in told.terms}["minutes that machines stand hot"]
        assert heat == (0 if not hot or not shared else 30)
        return starts(told)[0]

    # The cones from 400 to 430 at the soonest, so that the order has its half hour before it is due.
    assert roasted(hot=False, shared=False) == 0
    assert roasted(hot=True, shared=False) == 370
    # Side by side: of all such, the earliest.
    assert roasted(hot=True, shared=True) == 400


def test_busiest_hour_of_a_day_needs_as_few_hands_as_can_be() -> None:
    crew = (Worker("cook", ALWAYS), Worker("pastry", ALWAYS))
    tasks = [
        work("stir", 30, portions=THROUGHOUT, workers=(0, 1)),
        stay("keep", 0, 0, 900, keeps=60 * DAY),
        work("use", 10, after=joined(1)),
        work("grate", 30, portions=THROUGHOUT, workers=(0, 1)),
        stay("hold", 3, 0, 900, keeps=60 * DAY),
        work("serve", 10, after=joined(4)),
    ]
    orders = (Due("O", (2,), 600), Due("P", (5,), 600))
    told = solved(posed(tasks, workers=crew, dues=orders))
    assert sorted(starts(told)[n] for n in (0, 3)) == [0, 30]
    assert {name: value for name, _, value in told.terms}["most hands at once, each day"] == 1


def test_left_over_that_would_spoil_is_made_late_enough_to_outlast_the_plan() -> None:
    jobs = [work("make", 10), stay("rest", 0, 0, 2 * DAY, load=50), work("hand-over", 10, after=(Precedence(0),))]
    jobs[1] = replace(jobs[1], keeps=2 * DAY)
    problem = posed(jobs, horizon=4 * DAY, dues=(Due("O", (2,), 4 * DAY),))
    told = solved(problem)
    assert score(problem, told).waste == 0
    early = replace(told, places=tuple(generate(problem, network(problem), "forwards, earliest").places))
    assert score(problem, early).waste == 50
