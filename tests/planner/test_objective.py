"""The last goal: counted alike in the model and without it, and each of its prices shows in a plan made by hand."""

from dataclasses import replace
from pathlib import Path

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
from orchestrator.planner.score import score
from orchestrator.planner.solve import solve
from orchestrator.planner.variables import Board, Setting
from tests.planner.problems import ALWAYS, DAY, THROUGHOUT, joined, posed, stay, work

CONFIG = Path(__file__).parents[2] / "config"


def example() -> Problem:
    kitchen = read_kitchen(CONFIG)
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    return pose(request, explode(request))


def counted(problem: Problem, schedule: Schedule) -> float:
    """What the model makes of a schedule, each of its variables at its hint."""
    board = Board(problem, Setting(preferences=True), schedule)
    for rule in constraints.ALL:
        rule(board)
    board.model.minimize(objective.preference(board))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.fix_variables_to_their_hinted_value = True
    assert solver.solve(board.model) == cp_model.OPTIMAL
    return solver.objective_value


def test_preference_in_the_model_is_what_score_counts() -> None:
    problem = example()
    guess = first_guess(problem)
    assert counted(problem, guess) == score(problem, guess).preference


def test_preference_of_a_plan_again_counts_changes_alike() -> None:
    problem = example()
    other = generate(problem, network(problem), "backwards, by due")
    again = replace(problem, previous=other.places, cleans_before=other.cleans)
    guess = first_guess(problem)
    assert counted(again, guess) == score(again, guess).preference > score(problem, guess).preference


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
