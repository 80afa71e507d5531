"""Warm batches in one freezer: together they take longer, and neither is planned as if it were alone."""

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import TaskId
from orchestrator.core.models import PlanRequest
from orchestrator.core.quantities import Quantity
from orchestrator.planner import constraints
from orchestrator.planner.demand import explode
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.pose import pose
from orchestrator.planner.problem import Due, Fixed, Job, Machine, Place, Precedence, Problem, Schedule
from orchestrator.planner.score import lateness
from orchestrator.planner.score_food import slow_freezing
from orchestrator.planner.solve import solve
from orchestrator.planner.warm import Warm
from tests.fakes.tiny import second_product, tiny_data, tiny_request
from tests.planner.planned import planned
from tests.planner.problems import posed, stay, work
from tests.planner.verifier import faults

Planned = Callable[[Problem], Schedule]
BLAST = Machine("blast", 1000, shared=True, alone=500)
"""Ten litres fit, five freeze at the usual pace."""


def modelled(problem: Problem) -> Schedule:
    return solve(problem, None, seconds=10, deterministic=True)


BOTH = pytest.mark.parametrize("plan", [modelled, first_guess])


def harden(name: str, litres: int, **rest: Any) -> Job:
    """100 minutes, 150 in a crowded freezer."""
    return Job(name, 100, 150, machines=(0,), load=litres * 100, crowded=(150,), **rest)


def batches(*litres: int, dues: tuple[int, ...], blast: Machine = BLAST) -> Problem:
    jobs = [harden(f"batch {n}", size) for n, size in enumerate(litres)]
    return posed(jobs, machines=(blast,), dues=tuple(Due(f"O-{n}", (n,), due) for n, due in enumerate(dues)))


@pytest.mark.parametrize(
    ("litres", "dues", "late"),
    [
        pytest.param((3, 2), (100, 100), (0, 0), id="five litres together: as if alone"),
        pytest.param((3, 3), (150, 150), (0, 0), id="six together: both take 150"),
        pytest.param((3, 3), (100, 200), (0, 0), id="one after the other: 100 each"),
    ],
)
def test_batches_take_longer_together(litres: Any, dues: Any, late: Any):
    problem = batches(*litres, dues=dues)
    schedule = modelled(problem)
    assert faults(problem, schedule) == []
    assert lateness(problem, schedule) == late
    assert faults(problem, first_guess(problem)) == []


def test_two_wanted_at_once_are_as_late_as_heat_makes_them():
    problem = batches(3, 3, dues=(100, 100))
    schedule = modelled(problem)
    assert faults(problem, schedule) == []
    # One at 100 and the other at 200 would be 100 late, both together at 150 as well: 50 and 50.
    assert sum(late or 0 for late in lateness(problem, schedule)) == 100
    strong = batches(3, 3, dues=(100, 100), blast=replace(BLAST, alone=None))
    assert lateness(strong, modelled(strong)) == (0, 0)


def test_minutes_that_warm_food_beside_it_costs_are_counted():
    together = batches(3, 3, dues=(150, 150))
    assert slow_freezing(together, modelled(together)) == 50 + 50
    as_if_alone = batches(3, 2, dues=(100, 100))
    assert slow_freezing(as_if_alone, modelled(as_if_alone)) == 0


def test_without_the_rule_the_model_plans_both_as_if_alone(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(constraints, "ALL", tuple(rule for rule in constraints.ALL if rule.__name__ != "heat"))
    problem = batches(3, 3, dues=(100, 100))
    assert faults(problem, modelled(problem)) != []


def test_without_the_rule_construction_plans_both_as_if_alone(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(Warm, "heat_allows", lambda self, _machine, _job, _minutes: self.everywhere)
    problem = batches(3, 3, dues=(100, 100))
    assert faults(problem, first_guess(problem)) != []


@BOTH
def test_fact_beside_counts_as_heat_and_is_left_alone(plan: Planned):
    """One is in until 80. The other, begun at 40, would be crowded and end at 190; begun at 80 it ends at 180."""
    inside = harden("inside", 3, fixed=Fixed(0, 80, 0))
    problem = posed([inside, harden("next", 3)], now=40, machines=(BLAST,), dues=(Due("O", (1,), 180),))
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    assert schedule.places[1] in {Place(80, 180, 0), Place(40, 190, 0)}
    if plan is modelled:
        assert lateness(problem, schedule) == (0,)


@BOTH
def test_fact_in_another_freezer_is_no_heat_here(plan: Planned):
    inside = harden("inside", 3, fixed=Fixed(0, 80, 1))
    machines = (BLAST, Machine("old blast", 700, shared=True))
    problem = posed([inside, harden("next", 3)], now=40, machines=machines, dues=(Due("O", (1,), 140),))
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    assert schedule.places[1] == Place(40, 140, 0)


@BOTH
def test_what_stays_there_frozen_is_no_heat(plan: Planned):
    jobs = [work("a", 0, fixed=Fixed(0, 0, None)), stay("stock", 0, 0, 900, machines=(0,), load=400), harden("b", 3)]
    problem = posed(jobs, machines=(BLAST,), dues=(Due("O", (2,), 100),))
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    assert lateness(problem, schedule) == (0,)


@BOTH
def test_batches_behind_what_stays_there_frozen_are_heat_to_each_other_all_the_same(plan: Planned):
    jobs = [work("a", 0, fixed=Fixed(0, 0, None)), stay("stock", 0, 0, 900, machines=(0,), load=400)]
    jobs += [harden("b", 3), harden("c", 3)]
    problem = posed(jobs, machines=(BLAST,), dues=(Due("O", (2,), 100), Due("P", (3,), 100)))
    schedule = plan(problem)
    assert faults(problem, schedule) == []
    # As above: 100 in all, both together or one after the other.
    assert sum(late or 0 for late in lateness(problem, schedule)) == 100


def by_chance(seed: int) -> Problem:
    """Up to six churned batches, each of which goes into one of two freezers within 20 minutes."""
    rng = random.Random(seed)
    blast = replace(BLAST, alone=rng.choice([300, 500, 700]))
    machines = (blast, Machine("old blast", 700, shared=True), Machine("churn"))
    jobs, dues = list[Job](), list[Due]()
    for batch in range(rng.randint(2, 6)):
        first = len(jobs)
        jobs.append(work(f"churn {batch}", 20, machines=(2,)))
        lengths, crowded, after = (60, 80), (110, 80), (Precedence(first, 0, 20),)
        hardened = Job(f"harden {batch}", 60, 110, machines=(0, 1), lengths=lengths, crowded=crowded, after=after)
        jobs.append(replace(hardened, load=rng.randint(1, 3) * 100))
        dues.append(Due(f"O-{batch}", (first + 1,), rng.choice([80, 140, 400]), weight=rng.choice([1, 2])))
    return posed(jobs, machines=machines, dues=dues)


@pytest.mark.parametrize("seed", range(30))
def test_any_freezers_are_filled_by_the_rules(seed: int):
    problem = by_chance(seed)
    guess = first_guess(problem)
    assert faults(problem, guess) == []
    better = solve(problem, guess, seconds=0.5, deterministic=True)
    assert faults(problem, better) == []


def two_products(**heat: Any) -> PlanRequest:
    """The tiny kitchen with two products, each hardened for three hours in a freezer of its own power."""
    data = tiny_data()
    data["recipes"].append(second_product())
    freezer = next(machine for machine in data["equipment"] if machine["id"] == "freezer")
    freezer["heat"] = {"alone": "4 L", "crowded": 1.5} | heat
    for recipe in data["recipes"][1:]:
        harden_step = {
            "id": "harden",
            "process": "harden",
            "title": "Harden",
            "equipment": "freezer",
            "load": "4 L",
            "duration": {"shortest": 150, "usual": 180, "longest": 240},
            "after": [{"step": "churn", "most": 10, "window": "safety"}],
        }
        recipe["steps"].insert(1, harden_step)
    data["orders"][0]["lines"] = [
        {"product": "basil-custard", "quantity": "3 L"},
        {"product": "hazelnut-custard", "quantity": "3 L"},
    ]
    return tiny_request(data)


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_kitchen_gives_crowded_batches_their_time_and_the_check_asks_for_it(effort: Any):
    request = two_products()
    plan = planned(request, effort)
    tasks = [plan.task(name) for name in ("B1.harden", "H1.harden")]
    together = tasks[0].start < tasks[1].end and tasks[1].start < tasks[0].end
    lengths = [(task.end - task.start).total_seconds() / 60 for task in tasks]
    assert [task.crowded for task in tasks] == [1.5 if length == 270 else 1.0 for length in lengths]
    if together:
        assert lengths == [270, 270]
    # As if the freezer took both at its usual pace: then the plan may bring them together, and the check finds it.
    loose = planned(two_products(alone="8 L"), effort)
    both = [loose.task(name) for name in ("B1.harden", "H1.harden")]
    assert [task.end - task.start for task in both] == [timedelta(hours=3)] * 2
    beside = both[1].model_copy(update={"start": both[0].start, "end": both[0].end})
    changed = loose.model_copy(update={"tasks": tuple(beside if t.id == beside.id else t for t in loose.tasks)})
    found = [violation.tasks for violation in check(changed, request) if violation.rule == "heat"]
    assert sorted(found) == [("B1.harden",), ("H1.harden",)]


def test_batch_that_is_too_much_for_a_freezer_by_itself_is_posed_with_its_crowded_minutes_there_and_only_there() -> (
    None
):
    # Three litres or so at a time, against 4 L: room to be alone. The second freezer's power is for one.
    request = two_products()
    first = next(machine for machine in request.kitchen.equipment if machine.id == "freezer")
    assert first.heat is not None
    weak = first.heat.model_copy(update={"alone": Quantity.model_validate("1 L"), "crowded": 2.0})
    second = first.model_copy(update={"id": "freezer-2", "heat": weak})
    kitchen = request.kitchen.model_copy(update={"equipment": (second, *request.kitchen.equipment)})
    request = request.model_copy(update={"kitchen": kitchen})
    demand = explode(request)
    jobs = {spec.id: job for spec, job in zip(demand.specs, pose(request, demand).jobs, strict=True)}
    job = jobs[TaskId("B1.harden")]
    names = [kitchen.equipment[machine].id for machine in job.machines]
    told = dict(zip(names, zip(job.lengths, job.crowded, strict=True), strict=True))
    # Usually three hours; twice as long where it is never alone enough, half as long again where others are beside it.
    assert told == {"freezer-2": (360, 360), "freezer": (180, 270)}
