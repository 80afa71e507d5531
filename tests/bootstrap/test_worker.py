"""``coldwright worker`` as a process plans for a kitchen on the same database; without one the service says so."""

import asyncio
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap import Failure, Hooks, Settings, build
from orchestrator.kitchen.read import read_kitchen
from tests.bootstrap.test_system import EXAMPLE
from tests.fakes.postgres import Postgres


def worker(url: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-u", "-c", "from orchestrator.cli.main import main; main()", "worker"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(EXAMPLE.parent), "COLDWRIGHT_DATABASE": url},
        start_new_session=True,
    )


async def test_kitchen_is_planned_by_a_worker_and_says_when_there_is_none(server: Postgres, tmp_path: Path) -> None:
    url = server.url()
    running = worker(url)
    settings = Settings(
        data=tmp_path, database=url, kitchen=EXAMPLE, broker="none", planner="database", planning_seconds=1
    )
    clock = ScaledClock(read_kitchen(EXAMPLE).planning_start, 1.0)  # on a later day its planned days are over
    system = build(settings, Hooks(web=False, clock=clock))
    await system.start()
    try:
        async with asyncio.timeout(240):
            while system.gateway.snapshot().state.plan is None:
                await asyncio.sleep(0.1)
        async with asyncio.timeout(120):
            while not [one for one in system.watch.vitals().planners if one.alive and one.starts >= 2]:
                await asyncio.sleep(0.1)
        os.killpg(running.pid, signal.SIGKILL)
        async with asyncio.timeout(120):
            while "planner_nobody" not in [check.reason for check in system.watch.vitals().amiss]:
                await asyncio.sleep(0.1)
        assert not system.watch.vitals().ready
    finally:
        await system.stop()
        if running.poll() is None:
            os.killpg(running.pid, signal.SIGKILL)
        running.communicate(timeout=15)


def test_worker_ends_cleanly_when_told_to(server: Postgres) -> None:
    running = worker(server.url())
    assert running.stdout is not None
    said = running.stdout.readline()
    assert "plans for the kitchens of postgresql://127.0.0.1/postgres" in said
    assert "of-these-tests" not in said
    os.kill(running.pid, signal.SIGTERM)
    output, _ = running.communicate(timeout=30)
    assert (running.returncode, "what was in hand goes to another worker" in output) == (0, True)


def test_service_told_to_plan_through_a_database_without_one_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Failure, match="name one in COLDWRIGHT_DATABASE"):
        build(Settings(data=tmp_path, planner="database"))
