"""The planner's process: warm, restarted when it dies or overruns, and free again after a question is dropped."""

import asyncio
import time
from collections.abc import AsyncIterator, Callable

import pytest

from orchestrator.adapters.planner_process import PlannerProcess, Worker
from orchestrator.core.models import PlanRequest
from orchestrator.ports.planning import PlannerFailed
from tests.fakes import workers
from tests.fakes.clocks import START
from tests.fakes.kitchens import small_kitchen
from tests.fakes.plans import small_plan

REQUEST = PlanRequest(kitchen=small_kitchen(), now=START)


@pytest.fixture
async def make() -> AsyncIterator[Callable[[Worker, float], PlannerProcess]]:
    made: list[PlannerProcess] = []

    def start(worker: Worker, grace_s: float = 20.0) -> PlannerProcess:
        made.append(PlannerProcess(worker, grace_s=grace_s))
        return made[-1]

    yield start  # type: ignore[misc]
    for process in made:
        await process.close()


async def test_plan_comes_back_equal_from_one_warm_process(make: Callable[..., PlannerProcess]) -> None:
    planner = make(workers.answering)
    planner.start()
    first = await planner.plan(REQUEST, effort="repair", seconds=1)
    second = await planner.plan(REQUEST, effort="full", seconds=1)
    assert first.plan == second.plan == small_plan(REQUEST.kitchen)
    assert first.seconds == second.seconds


async def test_plan_process_dies_fails_and_is_started_again(make: Callable[..., PlannerProcess]) -> None:
    planner = make(workers.dying)
    before = await planner.plan(REQUEST, effort="repair", seconds=1)
    with pytest.raises(PlannerFailed, match="ended before it answered"):
        await planner.plan(REQUEST, effort="full", seconds=1)
    after = await planner.plan(REQUEST, effort="repair", seconds=1)
    assert after.plan == before.plan
    assert after.seconds != before.seconds


async def test_plan_overruns_fails_within_its_time_and_is_started_again(make: Callable[..., PlannerProcess]) -> None:
    planner = make(workers.sleeping, 0.5)
    with pytest.raises(PlannerFailed, match="no answer within"):
        await planner.plan(REQUEST, effort="full", seconds=0.1)
    planner._grace_s = 20.0
    assert (await planner.plan(REQUEST, effort="repair", seconds=1)).plan is not None


async def test_plan_cancelled_ends_the_question_at_once_and_the_next_is_answered(
    make: Callable[..., PlannerProcess],
) -> None:
    planner = make(workers.sleeping)
    await planner.plan(REQUEST, effort="repair", seconds=1)
    asking = asyncio.ensure_future(planner.plan(REQUEST, effort="full", seconds=60))
    await asyncio.sleep(0.2)
    began = time.monotonic()
    asking.cancel()
    with pytest.raises(asyncio.CancelledError):
        await asking
    assert time.monotonic() - began < 2
    assert (await planner.plan(REQUEST, effort="repair", seconds=1)).plan is not None


async def test_plan_answer_is_nonsense_fails(make: Callable[..., PlannerProcess]) -> None:
    with pytest.raises(PlannerFailed, match="cannot be understood"):
        await make(workers.babbling).plan(REQUEST, effort="full", seconds=1)


async def test_close_ends_the_process_even_while_it_is_asked(make: Callable[..., PlannerProcess]) -> None:
    planner = make(workers.sleeping)
    await planner.plan(REQUEST, effort="repair", seconds=1)
    process = planner._process
    assert process is not None
    asking = asyncio.ensure_future(planner.plan(REQUEST, effort="full", seconds=60))
    await asyncio.sleep(0.2)
    await planner.close()
    with pytest.raises(PlannerFailed):
        await asking
    assert not process.is_alive()
    with pytest.raises(PlannerFailed, match="has been closed"):
        await planner.plan(REQUEST, effort="repair", seconds=1)
