"""Machines of different speeds: work takes as long as the machine it is on makes it."""

import random
from collections.abc import Callable
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.models import WindowClass
from orchestrator.planner import placed, variables
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.plan import make_plan
from orchestrator.planner.problem import Due, Job, Machine, Place, Portion, Precedence, Problem, Schedule, Worker
from orchestrator.planner.score import lateness
from orchestrator.planner.solve import solve
from tests.fakes.tiny import tiny_data, tiny_request
from tests.planner.problems import THROUGHOUT, joined, posed, stay, work
from tests.planner.verifier import faults

OVENS = (Machine("oven"), Machine("old oven"))
SAFETY = WindowClass.SAFETY
Planned = Callable[[Problem], Schedule]


def modelled(problem: Problem) -> Schedule:
    return solve(problem, None, seconds=10, deterministic=True)


BOTH = pytest.mark.parametrize("plan", [modelled, first_guess])


def bake(name: str, *lengths: int, **rest: Any) -> Job:
    """Work on either oven, of so many minutes on each."""
    return Job(name, min(lengths), max(lengths), machines=(0, 1), lengths=lengths, **rest)


def three() -> Problem:
    """Three bakes of 20 minutes, 30 on the old oven, wanted at 20, 40 and 30: two on the oven, one on the old one."""
    jobs = [bake(name, 20, 30) for name in "abc"]
    return posed(jobs, machines=OVENS, dues=(Due("A", (0,), 20), Due("B", (1,), 40), Due("C", (2,), 30)))


@BOTH
def test_machine_decides_how_long_work_takes(plan: Planned):
    schedule = plan(three())
    assert faults(three(), schedule) == []
    assert lateness(three(), schedule) == (0, 0, 0)


@pytest.mark.parametrize(("plan", "module"), [(modelled, variables), (first_guess, placed)])
def test_without_the_speed_of_its_machine_work_has_the_wrong_length(plan, module, monkeypatch):
    monkeypatch.setattr(module, "minutes_of", lambda job, _machine: (job.shortest,))
    assert faults(three(), plan(three())) != []


def attended(portion: Portion, until: int) -> Problem:
    """One bake whose fast oven is stopped until 100, while the cook is there from 0 to ``until`` and from 150 on."""
    machines = (Machine("oven", stops=((0, 100),)), OVENS[1])
    job = bake("a", 20, 30, portions=(portion,), workers=(0,))
    workers = (Worker("cook", ((0, until), (150, 400))),)
    return posed([job], machines=machines, workers=workers, dues=(Due("A", (0,), 30),))


@BOTH
@pytest.mark.parametrize(
    ("portion", "until", "place"),
    [
        pytest.param(THROUGHOUT[0], 30, (0, 30, 1), id="there for all 30 minutes of the old oven"),
        pytest.param(THROUGHOUT[0], 29, (150, 170, 0), id="a minute less: too short for the old oven"),
        pytest.param(Portion("end", 5), 30, (0, 30, 1), id="there to take it out of the old oven"),
        pytest.param(Portion("start", 5), 5, (0, 30, 1), id="hands at the start do not ask for how long"),
    ],
)
def test_hands_follow_the_length(plan: Planned, portion: Portion, until: int, place: tuple[int, int, int]):
    problem = attended(portion, until)
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    (found,) = schedule.places
    assert found is not None
    assert (found.start, found.end, found.machine) == place


@BOTH
def test_end_is_attended_by_whoever_comes_next(plan: Planned):
    """Gone at 29, a minute before the old oven is done; whoever comes at 150 has 20 minutes to do at its end."""
    problem = attended(Portion("end", 20), 29)
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    assert [place.end for place in schedule.places if place is not None] == [170]


@BOTH
def test_what_must_follow_soon_counts_from_the_end_on_its_machine(plan: Planned):
    """Glazing must begin within 5 minutes, and the cook is there from 60 on: 20 minutes from 35, or 30 from 25."""
    glaze = work("glaze", 10, portions=THROUGHOUT, workers=(0,), after=(Precedence(0, 0, 5, SAFETY),))
    machines = (Machine("oven", stops=((34, 200),)), OVENS[1])
    problem = posed(
        [bake("a", 20, 30), glaze],
        machines=machines,
        workers=(Worker("cook", ((60, 100),)),),
        dues=(Due("A", (1,), 70),),
    )
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    baked, glazed = schedule.places
    assert baked is not None
    assert (baked.machine, baked.end >= 55, glazed) == (1, True, Place(60, 70, None, ((0,),)))


def by_chance(seed: int) -> Problem:
    """Up to five cakes: baked on ovens of unlike speed, cooled in a shelf, glazed, handed over."""
    rng = random.Random(seed)
    machines = (*OVENS, Machine("third"), Machine("shelf", 300, shared=True))
    workers = tuple(Worker(f"cook {n}", ((0, 200), (230, 500), (620, 900))) for n in range(2))
    jobs, dues = list[Job](), list[Due]()
    for cake in range(rng.randint(2, 5)):
        first, usual = len(jobs), rng.choice([20, 25, 40])
        lengths = tuple(rng.choice([usual, usual, usual * 5 // 4, usual * 2]) for _ in range(3))
        portions = rng.choice([THROUGHOUT, (Portion("start", 5), Portion("end", 15)), (Portion("end", 10),)])
        jobs.append(
            Job(
                f"bake {cake}",
                min(lengths),
                max(lengths),
                machines=(0, 1, 2),
                lengths=lengths if len(set(lengths)) > 1 else (),
                portions=portions,
                workers=(0, 1),
            )
        )
        jobs.append(stay(f"cool {cake}", first, 10, rng.choice([30, 60]), machines=(3,), load=100, stay_window=SAFETY))
        jobs.append(work(f"glaze {cake}", 10, portions=THROUGHOUT, workers=(0, 1), after=joined(first + 1)))
        dues.append(Due(f"O-{cake}", (first + 2,), rng.choice([120, 240, 700]), weight=rng.choice([1, 3])))
    return posed(jobs, machines=machines, workers=workers, dues=dues)


@pytest.mark.parametrize("seed", range(30))
def test_any_kitchen_of_unlike_machines_is_planned_by_the_rules(seed: int):
    problem = by_chance(seed)
    guess = first_guess(problem)
    assert faults(problem, guess) == []
    better = solve(problem, guess, seconds=0.5, deterministic=True)
    assert faults(problem, better) == []


def two_hobs() -> dict[str, Any]:
    """The tiny kitchen with a second, slower hob."""
    data = tiny_data()
    slow = {"id": "hob-2", "name": "Old hob", "kind": "hob", "station": "stove", "floor": "warm", "speed": 0.6}
    data["equipment"].append(slow)
    return data


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_kitchen_with_only_a_slow_hob_cooks_for_longer(effort: Any):
    data = two_hobs()
    data["equipment"] = [machine for machine in data["equipment"] if machine["id"] != "hob-1"]
    request = tiny_request(data)
    plan = make_plan(request, effort=effort, seconds=2, deterministic=True).plan
    assert plan is not None
    cook = plan.task("C1.cook")
    # 40 min / 0.6 = 66.7 min, and whoever cooks is there for all of it.
    assert (cook.end - cook.start).total_seconds() / 60 == 67
    assert [(span.start, span.end) for span in cook.spans] == [(cook.start, cook.end)]
    assert check(plan, request) == ()


def test_check_finds_work_too_short_for_its_machine():
    request = tiny_request(two_hobs())
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    tasks = tuple(t.model_copy(update={"equipment": "hob-2"}) if t.id == "C1.cook" else t for t in plan.tasks)
    found = check(plan.model_copy(update={"tasks": tasks}), request)
    # 30 to 50 min by the recipe are 50 to 84 min on a hob of 0.6, and 40 are planned.
    assert [violation.rule for violation in found] == ["duration"]
    assert "it needs 50 to 84 min" in found[0].says
