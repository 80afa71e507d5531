"""Questions through PostgreSQL: one worker each, lost workers replaced, better plans told, dropped ones stopped."""

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from typing import Any

import pytest

from orchestrator.adapters import database_planner, job_store
from orchestrator.adapters.child_process import Worker
from orchestrator.adapters.database_planner import DatabasePlanner
from orchestrator.adapters.job_store import JobStore, Taken
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.adapters.planner_worker import PlannerWorker
from orchestrator.core.models import PlanAnswer
from orchestrator.core.models.questions import PlanProgress
from orchestrator.ports.event_log import LogUnavailable
from orchestrator.ports.planning import PlannerFailed
from tests.adapters.test_planner_process import REQUEST
from tests.fakes import workers
from tests.fakes.postgres import Postgres

KITCHEN = "market_stall"


@pytest.fixture
async def begin(server: Postgres) -> AsyncIterator[Callable[..., Any]]:
    """Starts a worker; `stop` of what it gives ends it in order, `kill` as a power cut would."""
    made: list[Running] = []

    async def start(children: Worker = workers.answering) -> "Running":
        made.append(Running(server.url(), children))
        return made[-1]

    yield start
    for one in made:
        await one.stop()


class Running:
    def __init__(self, url: str, children: Worker) -> None:
        self.store = JobStore(url)
        self.planner = PlannerProcess(children, children)
        self.worker = PlannerWorker(self.store, self.planner)
        self.task = asyncio.create_task(self.worker.run())

    async def stop(self) -> None:
        self.task.cancel()
        await asyncio.gather(self.task, return_exceptions=True)
        await self.planner.close()
        self.store.close()

    def kill(self) -> None:
        """It falls silent: nothing of it reaches the database any more."""
        self.store.keep = self.store.finish = lambda *_: True  # type: ignore[method-assign]
        self.store.take = lambda *_: None  # type: ignore[method-assign]
        self.store.leave = self.store.beat = lambda *_: None  # type: ignore[method-assign]


@pytest.fixture
async def planner(server: Postgres) -> AsyncIterator[DatabasePlanner]:
    made = DatabasePlanner(server.url(KITCHEN), grace_s=120.0)
    yield made
    await made.close()


async def which(planner: DatabasePlanner, seconds: float = 1) -> float:
    """Which process answered."""
    return (await planner.plan(REQUEST, effort="full", seconds=seconds)).seconds


async def taken(store: JobStore) -> str:
    """Wait until somebody has a question; returns who."""
    from sqlalchemy import select

    async with asyncio.timeout(120):
        while True:
            with store._database.reading() as connection:
                ours = (job_store.JOBS.c.state == "taken", job_store.JOBS.c.kitchen == KITCHEN)
                found = connection.execute(select(job_store.JOBS.c.worker).where(*ours))
                if name := found.scalar():
                    return str(name)
            await asyncio.sleep(0.02)


def count(store: JobStore) -> int:
    """How many questions of this file's kitchen there are; others of the server may have left theirs."""
    from sqlalchemy import func, select

    ours = select(func.count()).select_from(job_store.JOBS).where(job_store.JOBS.c.kitchen == KITCHEN)
    with store._database.reading() as connection:
        return int(connection.execute(ours).scalar_one())


async def test_plan_is_made_by_a_worker_and_nothing_is_left_behind(
    begin: Callable[..., Any], planner: DatabasePlanner
) -> None:
    running = await begin()
    assert await which(planner) > 0
    repair = await planner.plan(REQUEST, effort="repair", seconds=1)
    assert repair.plan is not None
    async with asyncio.timeout(120):
        while count(running.store):
            await asyncio.sleep(0.02)


async def test_better_plans_are_told_while_the_search_goes_on(
    begin: Callable[..., Any], planner: DatabasePlanner
) -> None:
    await begin(workers.improving)
    told: list[PlanProgress] = []
    answer = await planner.plan(REQUEST, effort="full", seconds=5, on_better=told.append)
    assert answer.plan is not None
    assert told


async def test_worker_that_is_lost_is_replaced_by_another(
    begin: Callable[..., Any], planner: DatabasePlanner, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(job_store, "LOST_US", 2_000_000)
    first = await begin(workers.idle)
    asked = asyncio.create_task(which(planner, seconds=20))
    assert await taken(first.store) == first.worker.name
    first.kill()
    second = await begin()
    assert await asyncio.wait_for(asked, 120) == float(second.planner.search.process.pid)


async def test_worker_that_ends_in_order_leaves_its_question_to_others(
    begin: Callable[..., Any], planner: DatabasePlanner, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(job_store, "LOST_US", 10**12)  # nobody is ever taken for lost
    first = await begin(workers.idle)
    asked = asyncio.create_task(which(planner, seconds=20))
    await taken(first.store)
    await first.stop()
    await begin()
    assert await asyncio.wait_for(asked, 120) > 0


async def test_question_over_which_a_planner_fails_as_nobody_expects_is_failed_once_and_the_worker_goes_on(
    begin: Callable[..., Any], planner: DatabasePlanner, monkeypatch: pytest.MonkeyPatch
) -> None:
    running, other = await begin(), await begin()
    asked: list[str] = []

    async def poisoned(*_: Any, **__: Any) -> PlanAnswer:
        asked.append("once")
        raise RecursionError("deeper than anybody thought")

    for one in (running, other):
        monkeypatch.setattr(one.planner, "plan", poisoned)
    with pytest.raises(PlannerFailed, match=r"a worker failed over it \(RecursionError\), as its log tells"):
        await which(planner, seconds=20)
    monkeypatch.undo()
    assert await which(planner) > 0
    assert (asked, running.task.done(), other.task.done()) == (["once"], False, False)
    async with asyncio.timeout(120):
        while count(running.store):
            await asyncio.sleep(0.02)


async def test_question_that_is_dropped_frees_its_worker(begin: Callable[..., Any], planner: DatabasePlanner) -> None:
    running = await begin(workers.searching)
    asked = asyncio.create_task(which(planner, seconds=60))
    await taken(running.store)
    asked.cancel()
    async with asyncio.timeout(120):
        while count(running.store):
            await asyncio.sleep(0.05)
    assert count(running.store) == 0


async def test_question_cancelled_while_it_is_put_down_is_taken_back(planner: DatabasePlanner) -> None:
    store, put = planner._opened(), list[str]()
    ask = store.ask

    def slowly(lane: job_store.Lane, question: str) -> str:
        time.sleep(0.3)
        put.append(ask(lane, question))
        return put[0]

    store.ask = slowly  # type: ignore[method-assign]
    asked = asyncio.create_task(which(planner, seconds=60))
    await asyncio.sleep(0.15)
    asked.cancel()
    await asyncio.gather(asked, return_exceptions=True)
    async with asyncio.timeout(30):
        while not put or store.look(put[0], beat=False).state != "gone":
            await asyncio.sleep(0.05)
    assert (asked.cancelled(), store.look(put[0], beat=False).state) == (True, "gone")


async def test_nobody_works_says_what_to_start(server: Postgres) -> None:
    from sqlalchemy import delete

    alone = DatabasePlanner(server.url(), grace_s=0.3)
    alone.revive()
    with pytest.raises(PlannerFailed, match="no worker took it: start 'coldwright worker' within 1 s"):
        await alone.plan(REQUEST, effort="full", seconds=0.3)
    store = JobStore(server.url())
    with store._database.writing() as connection:  # of the tests before
        connection.execute(delete(job_store.WORKERS))
    alone._staff_at = -100.0
    alone.revive()
    assert alone._looking is not None
    await alone._looking
    assert [(one.name, one.alive) for one in alone.staff()] == [("workers", False)]
    await alone.close()
    store.close()


async def test_worker_that_answers_too_late_changes_nothing(server: Postgres, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two had the same question, one after the other: only the one that has it now is heard."""
    store = JobStore(server.url())
    name = store.ask("plan", "{}")
    first = store.take("plan", "first")
    assert first is not None
    assert (first.name, first.turn) == (name, 1)
    assert store.take("plan", "second") is None
    monkeypatch.setattr(job_store, "LOST_US", -1)
    second = store.take("plan", "second")
    assert second == Taken(name, "{}", 2)
    assert not store.keep(first, "first", 1, "{}")
    assert not store.finish(first, "first", "answered", "late")
    assert store.finish(second, "second", "answered", "in time")
    assert store.look(name, beat=False).told == "in time"
    store.drop(name)
    assert store.look(name, beat=False).state == "gone"
    store.close()


def test_question_over_which_three_workers_died_is_given_up(server: Postgres, monkeypatch: pytest.MonkeyPatch) -> None:
    store = JobStore(server.url())
    name = store.ask("question", "{}")
    monkeypatch.setattr(job_store, "LOST_US", -1)
    for number in range(3):
        assert store.take("question", f"worker {number}") is not None
    assert store.take("question", "worker 3") is None
    assert store.look(name, beat=False).told == "3 workers ended before they answered"
    store.drop(name)
    store.close()


def test_answer_that_nobody_is_left_to_read_goes_with_the_next_question(
    server: Postgres, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = JobStore(server.url())
    name = store.ask("question", "{}")
    job = store.take("question", "worker")
    assert job is not None
    assert store.finish(job, "worker", "answered", "{}")
    store.drop(store.ask("question", "{}"))
    assert store.look(name, beat=False).state == "answered"
    monkeypatch.setattr(job_store, "ASKER_LOST_US", -1)
    store.drop(store.ask("question", "{}"))
    assert store.look(name, beat=False).state == "gone"
    store.close()


def test_questions_are_taken_once_however_many_take_at_once(server: Postgres) -> None:
    from concurrent.futures import ThreadPoolExecutor

    store = JobStore(server.url())
    names = {store.ask("quick", "{}") for _ in range(40)}
    with ThreadPoolExecutor(8) as pool:
        got = list(pool.map(lambda n: store.take("quick", f"worker {n}"), range(60)))
    found = [job.name for job in got if job is not None]
    assert len(found) == len(set(found))
    left = [job.name for _ in range(40) if (job := store.take("quick", "the last")) is not None]
    assert sorted([*found, *left]) == sorted(names)
    for name in names:
        store.finish(Taken(name, "", 1), "the last", "answered", "")
    with store._database.writing() as connection:
        connection.execute(job_store.JOBS.delete())
    store.close()


def test_store_without_postgresql_is_refused() -> None:
    with pytest.raises(LogUnavailable, match="write postgresql://"):
        JobStore("sqlite:///somewhere.db")


async def test_first_questions_at_once_open_one_store(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[str] = []

    def slowly(url: str) -> str:
        time.sleep(0.2)
        made.append(url)
        return url

    monkeypatch.setattr(database_planner, "JobStore", slowly)
    asked = DatabasePlanner("postgresql://nowhere/none")
    await asyncio.gather(*(asked._in_thread(lambda store: store) for _ in range(3)))
    assert made == ["postgresql://nowhere/none"]
    asked._store = None  # the text above has nothing to close
    await asked.close()
