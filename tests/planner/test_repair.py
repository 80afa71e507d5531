"""Repair: what can stay stays, the rest is re-inserted; by hand."""

from datetime import UTC, datetime

from orchestrator.planner.problem import Due, Fixed, Job, Machine, Place, Portion, Problem, Worker
from orchestrator.planner.repair import repair

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
