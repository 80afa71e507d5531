"""The planted plan of a planted kitchen is valid, on time and breaks no window: what benches rely on."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.score import score
from orchestrator.planner.solve import solve
from tests.planner.planted import planted
from tests.planner.verifier import faults


@pytest.mark.parametrize(("batches", "seed"), [(1, 0), (5, 1), (20, 0), (50, 2), (150, 0)])
def test_planted_plan_is_valid_on_time_and_breaks_no_window(batches, seed):
    kitchen = planted(batches, seed)

    assert faults(kitchen.problem, kitchen.schedule) == []
    ends = [kitchen.schedule.places[job].end for due in kitchen.problem.dues for job in due.jobs]
    assert all(end <= due.due for due, end in zip(kitchen.problem.dues, ends, strict=True))
    for job, place in zip(kitchen.problem.jobs, kitchen.schedule.places, strict=True):
        assert job.shortest <= place.end - place.start <= job.longest
        gaps = [(place.start - kitchen.schedule.places[link.after].end, link) for link in job.after]
        assert all(link.least <= gap and (link.most is None or gap <= link.most) for gap, link in gaps)
    value = score(kitchen.problem, kitchen.schedule)
    assert (value.unmet, value.breaks, value.late) == (0, 0, 0)


@pytest.mark.parametrize("damage", ["a minute later than due", "on a churn that is taken", "aged for longer"])
def test_a_planted_plan_that_is_no_longer_on_time_and_whole_is_noticed(damage):
    kitchen = planted(20, 0)
    problem, schedule = kitchen.problem, kitchen.schedule
    if damage == "a minute later than due":
        ends = {due.order: schedule.places[due.jobs[0]].end for due in problem.dues}
        sooner = tuple(replace(due, due=ends[due.order] - 1) for due in problem.dues)
        assert score(replace(problem, dues=sooner), schedule).late == sum(due.weight for due in sooner)
    elif damage == "on a churn that is taken":
        runs = [n for n, job in enumerate(problem.jobs) if job.id.endswith(".churn")]
        places = list(schedule.places)
        places[runs[0]] = replace(places[runs[1]], workers=places[runs[0]].workers)
        assert any("churn" in fault for fault in faults(problem, replace(schedule, places=tuple(places))))
    else:
        shorter = tuple(replace(job, longest=720) if job.id.endswith(".age") else job for job in problem.jobs)
        assert score(replace(problem, jobs=shorter), schedule).breaks > 0


def test_planted_kitchen_of_400_batches_grows_in_machines_crew_and_days():
    large, small = planted(400).problem, planted(20).problem

    assert (len(large.jobs), len(small.jobs)) == (3200, 160)
    assert len(large.machines) > len(small.machines)
    assert len(large.workers) > len(small.workers)
    assert large.horizon > small.horizon


def test_planted_kitchen_of_the_same_seed_is_the_same():
    assert planted(20, 3) == planted(20, 3)
    assert planted(20, 3).problem != planted(20, 4).problem


def test_planted_kitchen_asked_for_tighter_leaves_less_room():
    loose, tight = planted(50, tightness=0.1).tightness, planted(50, tightness=0.9).tightness

    assert loose.churns < tight.churns
    assert loose.slack_min > tight.slack_min
    assert loose.spare_window_min > tight.spare_window_min
    assert loose.stores < tight.stores


def test_planted_kitchen_of_nothing_is_refused():
    with pytest.raises(ValueError, match="at least 1 batch"):
        planted(0)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(batches=st.integers(1, 8), seed=st.integers(0, 999), tightness=st.sampled_from([0.0, 0.5, 0.7, 1.0]))
def test_plans_of_planted_kitchens_keep_every_rule(batches, seed, tightness):
    problem = planted(batches, seed, tightness=tightness).problem
    guess = first_guess(problem)
    assert faults(problem, guess) == []

    assert faults(problem, solve(problem, guess, seconds=2, deterministic=True, seed=seed)) == []
