"""Latest starts that are called exact are the latest there are: by hand, and against the solver's optimum."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.questions import InstantsAnswer, InstantsQuestion
from orchestrator.planner import constraints
from orchestrator.planner.answers import answer
from orchestrator.planner.latest_bounds import is_shut_out, latest_at_all
from orchestrator.planner.plan import Workbench, workbench
from orchestrator.planner.score import lateness
from orchestrator.planner.solve import left_out
from orchestrator.planner.trouble import FINE, standings
from orchestrator.planner.variables import Board, Setting
from tests.fakes.tiny import START, tiny_request
from tests.planner.by_hand import hands, kitchen, machine, order, person, recipe, shift, step
from tests.planner.planned import planned
from tests.planner.test_random_kitchens import kitchens


def asked(request: PlanRequest, plan: Plan, hours: float = 24 * 5) -> InstantsAnswer:
    told = answer(InstantsQuestion(request=request, plan=plan, until=START + timedelta(hours=hours)))
    assert isinstance(told, InstantsAnswer)
    return told


def optimum(bench: Workbench, job: int) -> int | None:
    """The latest start of a job with every order met, none later than it is, and no quality window broken.

    By the constraint model of the same problem, solved to proof: it knows every machine, store and person, and shares
    no code with the repairs by which latest starts are found.
    """
    problem, schedule = bench.problem, bench.schedule
    board = Board(problem, Setting(left_out=left_out(schedule)), schedule)
    for rule in constraints.ALL:
        rule(board)
    for due, late in zip(problem.dues, lateness(problem, schedule), strict=True):
        for last in due.jobs if late is not None else ():
            board.model.add(board.at(last).end <= due.due + (late or 0))
    board.model.maximize(board.at(job).start)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 4
    status = solver.solve(board.model)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def compared(request: PlanRequest, jobs: int = 100) -> tuple[int, int]:
    """How many latest starts were called exact, and how many bounds; each is held to the solver's optimum."""
    plan = planned(request)
    if plan.breaks:
        return 0, 0
    bench = workbench(request.model_copy(update={"previous": plan}))
    number = {spec.id: index for index, spec in enumerate(bench.demand.specs)}
    bound = latest_at_all(bench.problem, bench.schedule)
    exact = bounds = 0
    for start in asked(request, plan).starts[:jobs]:
        job = number[start.task]
        best = optimum(bench, job)
        if best is None:
            continue
        at = round((start.at - bench.problem.origin) / timedelta(minutes=1))
        assert at <= best <= bound[job], start
        if start.exact:
            assert at == best, start
        exact, bounds = exact + start.exact, bounds + (not start.exact)
    return exact, bounds


@settings(
    max_examples=6,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.generate],
)
@given(kitchens(), st.integers(0, 3))
def test_exact_latest_starts_of_small_kitchens_are_the_solvers_optimum(data: dict[str, Any], skip: int) -> None:
    compared(tiny_request(data), 6 + skip)


def test_latest_starts_of_the_tiny_kitchen_are_all_exact_and_the_solvers_optimum() -> None:
    assert compared(tiny_request()) == (3, 0)


def _one_fridge(tmp_path: Path, litres: int) -> PlanRequest:
    """Two sauces are boiled by one cook from 06:00 to 14:00, and kept in a fridge until they are given at noon and at
    13:00: 60 min of boiling, then 60 to 600 min in the fridge, then 30 min of giving by a clerk."""
    keep = step("keep", process="store", equipment="fridge", load="4 L", stay={"least": "1 h", "most": "10 h"})
    giving = step("give", 30, station="bench", per="order", **hands(skill="serve"))
    boiling = step("boil", 60, equipment="hob", **hands())
    sauces = [recipe(name, code, [boiling, keep, giving]) for name, code in (("red", "R"), ("green", "G"))]
    machines = [machine("hob", "hob"), machine("fridge", "fridge", capacity=f"{litres} L", shared=True, store=True)]
    orders = [order("12:00", ("red", "4 L"), name="R"), order("13:00", ("green", "4 L"), name="G")]
    crew = [person("cook", "make", shift()), person("clerk", "serve", shift())]
    return kitchen(tmp_path, machines, sauces, orders, crew=crew)


def test_latest_start_into_a_fridge_with_room_is_exact(tmp_path: Path) -> None:
    request = _one_fridge(tmp_path, 8)
    told = {found.task: (f"{found.at:%H:%M}", found.exact) for found in asked(request, planned(request)).starts}
    # Given by 11:30 and 12:30, an hour in the fridge and an hour of boiling before.
    assert told["R1.boil"] == ("09:30", True)
    assert told["G1.boil"] == ("10:30", True)
    assert compared(request) == (4, 0)


def test_latest_start_into_a_full_fridge_is_exact_where_the_other_can_make_room(tmp_path: Path) -> None:
    request = _one_fridge(tmp_path, 4)
    told = {found.task: (f"{found.at:%H:%M}", found.exact) for found in asked(request, planned(request)).starts}
    # One sauce fits. Red leaves it by 11:30, so green is boiled by 10:30 and in the fridge from 11:30 until 12:30.
    assert told["R1.boil"] == ("09:30", True)
    assert told["G1.boil"] == ("10:30", True)
    assert compared(request) == (4, 0)


def test_latest_start_that_a_full_fridge_makes_earlier_is_a_bound_and_says_so(tmp_path: Path) -> None:
    """One sauce fits. Green may be given from 11:30 on only, by 12:00: so red must have left before green goes in."""
    request = _one_fridge(tmp_path, 4)
    red, green = request.kitchen.orders
    half_past = green.due - timedelta(minutes=30)
    green = green.model_copy(update={"due": half_past, "earliest": half_past - timedelta(minutes=30)})
    request = request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"orders": (red, green)})})
    told = {found.task: (f"{found.at:%H:%M}", found.exact) for found in asked(request, planned(request)).starts}
    # Green in by 11:00, so red out and given then: half an hour before links alone would have it. That no plan has it
    # any later is true, but links, shifts and stops do not say so.
    assert told == {
        "R1.boil": ("09:00", False),
        "R.R.give": ("11:00", False),
        "G1.boil": ("10:00", True),
        "G.G.give": ("12:00", True),
    }
    assert compared(request) == (2, 2)


@pytest.mark.parametrize("window", ["quality", "preference"])
def test_bound_does_not_take_a_preferred_window_for_a_limit(tmp_path: Path, window: str) -> None:
    """Boiled by 07:00, given within an hour if that is preferred; due at 12:00."""
    stay = {"least": "0 min", "most": "1 h", "window": window}
    keep = step("keep", process="store", equipment="fridge", load="4 L", stay=stay)
    giving = step("give", 30, station="bench", per="order", **hands(skill="serve"))
    boiling = step("boil", 60, equipment="hob", **hands())
    machines = [machine("hob", "hob"), machine("fridge", "fridge", capacity="8 L", shared=True, store=True)]
    crew = [person("cook", "make", shift(0, "06:00", "07:00")), person("clerk", "serve", shift())]
    request = kitchen(
        tmp_path, machines, [recipe("red", "R", [boiling, keep, giving])], [order("12:00", ("red", "4 L"))], crew=crew
    )
    bench = workbench(request)
    number = {spec.id: index for index, spec in enumerate(bench.demand.specs)}
    give = next(index for name, index in number.items() if name.endswith("give"))
    bound = bench.problem.origin + timedelta(minutes=latest_at_all(bench.problem, bench.schedule)[give])
    # The cook is there until 07:00: within the hour until 08:00, else until half an hour before it is due.
    assert f"{bound:%H:%M}" == {"quality": "08:00", "preference": "11:30"}[window]


@pytest.mark.parametrize(("due_min", "shut"), [(150, False), (149, True)])
def test_order_is_shut_out_of_time_to_the_minute(tmp_path: Path, due_min: int, shut: bool) -> None:
    """By hand: boiled from 06:00 to 07:00, an hour in the fridge, given by 08:30, 150 min after 06:00."""
    request = _one_fridge(tmp_path, 8)
    red, green = request.kitchen.orders
    red = red.model_copy(update={"due": request.now.replace(hour=6, minute=0) + timedelta(minutes=due_min)})
    request = request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"orders": (red, green)})})
    problem = workbench(request).problem
    assert (is_shut_out(problem, "R"), is_shut_out(problem, "G")) == (shut, False)


def test_order_that_waits_for_the_next_day_is_shut_out_by_its_window(tmp_path: Path) -> None:
    """Boiled in the last hour of the first day, 10 h in the fridge at most: nobody is there to give it in time."""
    request = _one_fridge(tmp_path, 8)
    cook, clerk = request.kitchen.crew
    late = cook.shifts[0].model_copy(update={"start": cook.shifts[0].end - timedelta(hours=1)})
    clerk_late = clerk.shifts[0].model_copy(
        update={"start": late.end + timedelta(hours=10, minutes=1), "end": late.end + timedelta(hours=12)}
    )
    crew = (cook.model_copy(update={"shifts": (late,)}), clerk.model_copy(update={"shifts": (clerk_late,)}))
    orders = tuple(o.model_copy(update={"due": clerk_late.end}) for o in request.kitchen.orders)
    request = request.model_copy(
        update={"kitchen": request.kitchen.model_copy(update={"orders": orders, "crew": crew, "horizon_days": 2})}
    )
    assert is_shut_out(workbench(request).problem, "R")


@settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(kitchens())
def test_order_that_a_plan_serves_well_is_never_called_shut_out(data: dict[str, Any]) -> None:
    request = tiny_request(data)
    plan = planned(request)
    problem = workbench(request.model_copy(update={"previous": plan})).problem
    known = {due.order for due in problem.dues}
    for name, standing in standings(plan).items():
        if standing == FINE and name in known:
            assert not is_shut_out(problem, name)
