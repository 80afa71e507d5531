"""Every planner behind the port keeps this contract: the scripted fake, and the process, with the real planner too."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass

import pytest

from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.core.check import check
from orchestrator.core.models import PlanRequest
from orchestrator.ports.planning import Planner, PlannerFailed
from tests.fakes import workers
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.tiny import tiny_request


@dataclass
class Bench:
    planner: Planner
    checked: bool
    """Whether its plans are made for the request, and so must pass the checker."""


@pytest.fixture(params=["scripted", "process", "real"])
async def bench(request: pytest.FixtureRequest) -> AsyncIterator[Bench]:
    match request.param:
        case "scripted":
            made = Bench(ScriptedPlanner(lambda asked: small_plan()), False)
        case "process":
            made = Bench(PlannerProcess(workers.for_any_kitchen, workers.for_any_kitchen), False)
        case _:
            made = Bench(PlannerProcess(serve_quick, serve_searches), True)
    yield made
    await made.planner.close()


@pytest.fixture(params=["scripted", "process"])
async def failing(request: pytest.FixtureRequest) -> AsyncIterator[Planner]:
    planner: Planner
    if request.param == "scripted":
        planner = ScriptedPlanner(lambda asked: None)
        planner.fail_next = 1
    else:
        planner = PlannerProcess(workers.dying, workers.dying)
    yield planner
    await planner.close()


async def test_planner_answers_both_efforts_with_plans(bench: Bench) -> None:
    asked: PlanRequest = tiny_request()
    quick = await bench.planner.plan(asked, effort="repair", seconds=1)
    full = await bench.planner.plan(asked, effort="full", seconds=1)
    for answer in (quick, full):
        assert answer.plan is not None, answer.violations
        if bench.checked:
            assert check(answer.plan, asked) == ()


async def test_planner_asked_twice_at_once_answers_both(bench: Bench) -> None:
    asked: PlanRequest = tiny_request()
    answers = await asyncio.gather(*(bench.planner.plan(asked, effort="repair", seconds=1) for _ in range(2)))
    assert all(answer.plan is not None for answer in answers)


async def test_planner_cancelled_answers_the_next(bench: Bench) -> None:
    asked: PlanRequest = tiny_request()
    dropped = asyncio.ensure_future(bench.planner.plan(asked, effort="full", seconds=20))
    await asyncio.sleep(0.05)
    dropped.cancel()
    await asyncio.gather(dropped, return_exceptions=True)
    assert (await bench.planner.plan(asked, effort="repair", seconds=1)).plan is not None


async def test_planner_that_fails_says_so(failing: Planner) -> None:
    with pytest.raises(PlannerFailed, match="ended before it answered"):
        await failing.plan(tiny_request(), effort="full", seconds=2)
