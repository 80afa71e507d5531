"""The planner's processes: warm, told to stop by message, restarted when they die or hang, plans before all else."""

import asyncio
from collections.abc import AsyncIterator, Callable

import pytest

from orchestrator.adapters.child_process import ChildProcess, Worker
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.questions import Answer, PlanProgress, PlanQuestion
from orchestrator.ports.planning import PlannerFailed
from tests.fakes import workers
from tests.fakes.clocks import START
from tests.fakes.kitchens import small_kitchen
from tests.fakes.plans import small_plan

REQUEST = PlanRequest(kitchen=small_kitchen(), now=START)
SHORT = PlanQuestion(request=REQUEST, effort="full", seconds=1)
LONG = PlanQuestion(request=REQUEST, effort="full", seconds=60)


@pytest.fixture
async def make() -> AsyncIterator[Callable[..., ChildProcess]]:
    made: list[ChildProcess] = []

    def start(worker: Worker, grace_s: float = 20.0, patience_s: float = 5.0) -> ChildProcess:
        made.append(ChildProcess(worker, "test-planner", grace_s=grace_s, patience_s=patience_s))
        return made[-1]

    yield start
    for process in made:
        await process.close()


async def which(child: ChildProcess, question: PlanQuestion = SHORT) -> float:
    """Which process answered."""
    answer = await child.ask(question)
    assert isinstance(answer, PlanAnswer)
    assert answer.plan == small_plan(REQUEST.kitchen)
    return answer.seconds


async def asking_long(child: ChildProcess) -> "tuple[asyncio.Task[Answer], list[PlanProgress]]":
    """A long question that has reached the child, and what it has told so far."""
    heard: list[PlanProgress] = []
    task = asyncio.create_task(child.ask(LONG, on_better=heard.append))
    await until(lambda: len(heard) == 1)
    return task, heard


async def until(condition: Callable[[], bool]) -> None:
    async with asyncio.timeout(20):
        while not condition():
            await asyncio.sleep(0.01)


async def test_ask_is_answered_twice_by_one_warm_process(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.answering)
    child.start()
    assert await which(child) == await which(child)


async def test_ask_process_dies_fails_and_is_started_again(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.dying)
    before = await which(child)
    with pytest.raises(PlannerFailed, match="ended before it answered"):
        await child.ask(LONG)
    assert await which(child) != before


async def test_ask_overruns_fails_and_is_started_again(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.deaf)
    before = await which(child)
    child.grace_s = 0.3
    with pytest.raises(PlannerFailed, match="no answer within 2 s"):
        await child.ask(LONG.model_copy(update={"seconds": 1.5}))
    child.grace_s = 20.0
    assert await which(child) != before


async def test_ask_cancelled_the_child_stops_by_message_and_lives_on(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.searching)
    before = await which(child)
    asking, _ = await asking_long(child)
    asking.cancel()
    with pytest.raises(asyncio.CancelledError):
        await asking
    assert await which(child) == before


async def test_ask_cancelled_a_child_that_does_not_hear_is_ended(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.deaf, patience_s=0.2)
    before = await which(child)
    asking, _ = await asking_long(child)
    asking.cancel()
    with pytest.raises(asyncio.CancelledError):
        await asking
    assert await which(child) != before


async def test_ask_urgent_goes_first_and_what_it_stopped_begins_anew(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.searching)
    slow, heard = await asking_long(child)
    urgent = await asyncio.wait_for(child.ask(SHORT, urgent=True), 20)
    assert isinstance(urgent, PlanAnswer)
    await until(lambda: len(heard) == 2)
    assert not slow.done()
    slow.cancel()
    assert await which(child) == urgent.seconds


@pytest.mark.parametrize("worker", [workers.babbling, workers.raving])
async def test_ask_answer_or_progress_is_nonsense_fails(make: Callable[..., ChildProcess], worker: Worker) -> None:
    with pytest.raises(PlannerFailed, match="cannot be understood"):
        await make(worker).ask(SHORT)


async def test_close_ends_the_process_even_while_it_is_asked(make: Callable[..., ChildProcess]) -> None:
    child = make(workers.searching)
    asking, _ = await asking_long(child)
    process = child.process
    assert process is not None
    await child.close()
    with pytest.raises(PlannerFailed):
        await asking
    assert not process.is_alive()
    with pytest.raises(PlannerFailed, match="has been closed"):
        await child.ask(SHORT)


async def test_repair_does_not_wait_for_the_search() -> None:
    planner = PlannerProcess(workers.answering, workers.searching)
    try:
        heard: list[PlanProgress] = []
        search = asyncio.create_task(planner.plan(REQUEST, effort="full", seconds=60, on_better=heard.append))
        await until(lambda: len(heard) == 1)
        quick = await planner.plan(REQUEST, effort="repair", seconds=1)
        assert (quick.plan, search.done()) == (small_plan(REQUEST.kitchen), False)
        search.cancel()
    finally:
        await planner.close()
