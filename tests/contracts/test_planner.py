"""Every planner behind the port keeps this contract: the fake, the process, the real planner in it, the database."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass

import pytest

from orchestrator.adapters.database_planner import DatabasePlanner
from orchestrator.adapters.job_store import JobStore
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.adapters.planner_worker import PlannerWorker
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.core.check import check
from orchestrator.core.models import PlanRequest
from orchestrator.ports.planning import Planner, PlannerFailed
from tests.fakes import workers
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.plans import small_plan
from tests.fakes.postgres import Postgres
from tests.fakes.tiny import tiny_request


@dataclass
class Bench:
    planner: Planner
    checked: bool
    """Whether its plans are made for the request, and so must pass the checker."""


@pytest.fixture(params=["scripted", "process", "real", "database"])
async def bench(request: pytest.FixtureRequest) -> AsyncIterator[Bench]:
    match request.param:
        case "scripted":
            made = Bench(ScriptedPlanner(lambda asked: small_plan()), False)
        case "process":
            made = Bench(PlannerProcess(workers.for_any_kitchen, workers.for_any_kitchen), False)
        case "real":
            made = Bench(PlannerProcess(serve_quick, serve_searches), True)
        case _:
            server: Postgres = request.getfixturevalue("server")
            made = Bench(DatabasePlanner(server.url()), False)
            store, own = JobStore(server.url()), PlannerProcess(workers.for_any_kitchen, workers.for_any_kitchen)
            working = asyncio.create_task(PlannerWorker(store, own).run())
    yield made
    await made.planner.close()
    if request.param == "database":
        working.cancel()
        await asyncio.gather(working, return_exceptions=True)
        await own.close()
        store.close()


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
