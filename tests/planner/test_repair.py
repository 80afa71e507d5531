"""Repair: what can stay stays, the rest is re-inserted; by hand."""

from dataclasses import replace
from datetime import UTC, datetime

from orchestrator.planner.problem import (
    CleanDown,
    Due,
    Family,
    Fixed,
    Job,
    Machine,
    Place,
    Portion,
    Problem,
    Schedule,
    Worker,
)
from orchestrator.planner.repair import brought_back, repair
from orchestrator.planner.solve import solve

ORIGIN = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def job(name: str, minutes: int, machine: int, *, fixed: Fixed | None = None) -> Job:
    return Job(name, minutes, minutes, machines=(machine,), fixed=fixed)


def place(start: int, minutes: int, machine: int) -> Place:
    return Place(start, start + minutes, machine)


def test_repair_overrunning_task_moves_only_what_it_runs_into() -> None:
    # On the hob: a (in hand, 30 min over), b right after it, c an hour later; d on the oven.
    jobs = (
        job("a", 60, 0, fixed=Fixed(0, 90, 0)),
        job("b", 30, 0),
        job("c", 30, 0),
        job("d", 30, 1),
    )
    before = (place(0, 60, 0), place(60, 30, 0), place(150, 30, 0), place(60, 30, 1))
    asked = Problem(
        origin=ORIGIN,
        now=50,
        horizon=1000,
        jobs=jobs,
        machines=(Machine("hob"), Machine("oven")),
        dues=(Due("A", (1, 2, 3), 600),),
        previous=before,
    )
    starts = [p.start for p in repair(asked).places if p is not None]
    # b waits for the hob; c and d stay where they were: no right shift.
    assert starts == [0, 90, 150, 60]


def test_repair_tasks_that_collide_keep_their_turns_and_move_no_more_than_needed() -> None:
    # b (60 min) no longer fits between a's new end at 100 and c at 150: it keeps its turn, and c gives way by 10 min.
    jobs = (job("a", 60, 0, fixed=Fixed(0, 100, 0)), job("b", 60, 0), job("c", 30, 0))
    asked = Problem(
        origin=ORIGIN,
        now=50,
        horizon=1000,
        jobs=jobs,
        machines=(Machine("hob"),),
        dues=(Due("A", (1, 2), 600),),
        previous=(place(0, 60, 0), place(80, 60, 0), place(150, 30, 0)),
    )
    starts = [p.start for p in repair(asked).places if p is not None]
    assert starts == [0, 100, 160]


def test_repair_keeps_the_person_who_was_to_do_it() -> None:
    attended = Job("churn", 30, 30, portions=(Portion("throughout", 0),), workers=(0, 1))
    asked = Problem(
        origin=ORIGIN,
        now=0,
        horizon=1000,
        jobs=(attended,),
        workers=(Worker("early", ((0, 500),)), Worker("late", ((0, 500),))),
        dues=(Due("A", (0,), 600),),
        previous=(Place(100, 130, None, ((1,),)),),
    )
    assert repair(asked).places == (Place(100, 130, None, ((1,),)),)


def test_repair_without_a_plan_before_is_a_first_guess() -> None:
    asked = Problem(
        origin=ORIGIN,
        now=0,
        horizon=1000,
        jobs=(job("a", 30, 0),),
        machines=(Machine("hob"),),
        dues=(Due("A", (0,), 0),),
    )
    assert repair(asked).places == (Place(0, 30, 0),)


def runs_with_a_clean_down_between(hob_end: int) -> Problem:
    """A sorbet, then a custard on one churn; the rinse between them at 60, long before the custard at 200."""
    sorbet, custard = Family(frozenset(), "sorbet"), Family(frozenset({"milk"}), "custard")
    jobs = (
        Job("sorbet", 30, 30, machines=(0,), family=sorbet),
        Job("custard", 30, 30, machines=(0,), family=custard),
        Job("cook", hob_end, hob_end, machines=(1,), fixed=Fixed(0, hob_end, 1)),
        Job("puree", 30, 30, machines=(1,)),
    )
    return Problem(
        origin=ORIGIN,
        now=5,
        horizon=1000,
        jobs=jobs,
        machines=(Machine("churn", rinse=15, full=40, cleaners=(0, 1)), Machine("hob")),
        workers=(Worker("early", ((0, 900),)), Worker("late", ((0, 900),))),
        dues=(Due("A", (0,), 70), Due("B", (1,), 260), Due("C", (3,), 120)),
        previous=(place(10, 30, 0), place(200, 30, 0), place(0, 40, 1), place(40, 30, 1)),
        cleans_before=(CleanDown(0, 1, "rinse", 60, 75, (1,)),),
    )


def test_repair_leaves_a_clean_down_where_it_was_and_with_whom() -> None:
    # The hob runs 20 min over: the puree moves, and what happens at the churn does not.
    asked = runs_with_a_clean_down_between(60)
    mended = repair(asked)
    assert [p.start for p in mended.places if p is not None] == [10, 200, 0, 60]
    assert mended.cleans == asked.cleans_before


def test_solve_leaves_a_clean_down_where_it_was_too() -> None:
    asked = runs_with_a_clean_down_between(60)
    best = solve(asked, repair(asked), seconds=5, deterministic=True)
    assert best.cleans == asked.cleans_before


def test_repair_moves_work_to_the_nearest_place_earlier_or_later() -> None:
    # The oven has another task at 95 to 300: five minutes earlier is nearer than two hours later.
    blocked = Job("bread", 205, 205, machines=(0,), fixed=Fixed(95, 300, 0))
    asked = Problem(
        origin=ORIGIN,
        now=0,
        horizon=1000,
        jobs=(blocked, job("cones", 30, 0)),
        machines=(Machine("oven"),),
        dues=(Due("A", (1,), 900),),
        previous=(place(100, 200, 0), place(70, 30, 0)),
    )
    assert [p.start for p in repair(asked).places if p is not None] == [95, 65]


def test_repair_that_would_be_late_changes_two_turns_and_leaves_the_rest() -> None:
    # a overruns from 40 to 60. In their turns b (60-120) and c (120-150) make C, due 140, ten minutes late: too little
    # for a fresh plan. By hand: c at 60, then b at 90, due 160; and d on the oven stays where it was.
    jobs = (job("a", 40, 0, fixed=Fixed(0, 60, 0)), job("b", 60, 0), job("c", 30, 0), job("d", 30, 1))
    asked = Problem(
        origin=ORIGIN,
        now=30,
        horizon=1000,
        jobs=jobs,
        machines=(Machine("hob"), Machine("oven")),
        dues=(Due("B", (1,), 160), Due("C", (2,), 140), Due("D", (3,), 260)),
        previous=(place(0, 40, 0), place(40, 60, 0), place(100, 30, 0), place(200, 30, 1)),
    )
    assert [p.start for p in repair(asked).places if p is not None] == [0, 90, 60, 200]


def test_orders_left_out_in_haste_are_brought_back_where_they_fit_beside_the_rest() -> None:
    # On the hob until 120: a, b and c each take 30 min; d takes 60 and finds no place beside them.
    jobs = (job("a", 30, 0), job("b", 30, 0), job("c", 30, 0), job("d", 60, 0))
    asked = Problem(
        origin=ORIGIN,
        now=0,
        horizon=120,
        jobs=jobs,
        machines=(Machine("hob"),),
        dues=tuple(Due(name, (number,), 100) for number, name in enumerate("ABCD")),
    )
    guess = Schedule((place(0, 30, 0), None, place(70, 30, 0), None), (), "repair")
    starts = [p and p.start for p in brought_back(asked, guess).places]
    assert starts == [0, 30, 70, None]
    full = Schedule((place(20, 30, 0), None, place(70, 30, 0), None), (), "repair")
    assert brought_back(replace(asked, horizon=100), full) is full
