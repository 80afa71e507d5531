"""A disk that fails: what was acknowledged stays, screens keep and mark the last state, and all goes on by itself."""

import asyncio
import sqlite3
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.bootstrap import Failure, Hooks, Settings, System, build
from orchestrator.bootstrap.keeper import Keeper
from orchestrator.core.commands import Command, MachineBack
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, ProbeId
from orchestrator.gateway.door import Accepted
from orchestrator.ports.event_log import Reading
from tests.bootstrap.test_readiness import get, ready, stop_churn, until
from tests.bootstrap.test_system import EXAMPLE
from tests.fakes.event_logs import MemoryReadings
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.small_disks import SmallDisk, small_disk

Cause = tuple[Callable[[], None], Callable[[], None]]
"""Breaks, and mends."""


def act(number: int) -> Command:
    """The churn stops, or is back."""
    if number % 2:
        return stop_churn(number)
    churn = EquipmentId("churn")
    return MachineBack(command_id=CommandId(f"act-{number}"), equipment=churn, person=CrewId("manager"))


@pytest.fixture
def disk() -> Iterator[SmallDisk]:
    with small_disk() as found:
        yield found


@pytest.fixture
async def system(disk: SmallDisk) -> AsyncIterator[System]:
    made = build(
        Settings(data=disk.folder / "data", kitchen=EXAMPLE, broker="none"),
        Hooks(planner=ScriptedPlanner(lambda request: None)),
    )
    await made.start()
    made.watch._disk_usage = lambda place: (2**40, 0, 2**40)  # what a small disk has free is another test's
    yield made
    await made.stop()


@contextmanager
def cause(what: str, disk: SmallDisk, system: System) -> Iterator[Cause]:
    engine = system.watch._parts.log._database._engine
    if what == "full":
        disk.watch(engine)
        yield disk.fill, disk.free
    elif what == "locked":
        other = sqlite3.connect(disk.folder / "data" / "events.db", isolation_level=None)
        yield lambda: void(other.execute("BEGIN IMMEDIATE")), lambda: void(other.execute("ROLLBACK"))
        other.close()
    else:
        only_read = [0]  # rights of files would not stop root; SQLite gives the same SQLITE_READONLY for this
        event.listen(engine, "checkout", lambda raw, *_: raw.execute(f"PRAGMA query_only = {only_read[0]}"))
        yield lambda: only_read.__setitem__(0, 1), lambda: only_read.__setitem__(0, 0)


def void(_: Any) -> None:
    """Nothing of it is wanted."""


MEANT = {
    "full": "events.db cannot grow: the disk is full; free some space on the disk",
    "locked": "events.db is locked by another program; close the other program that has it open",
    "read-only": "events.db cannot be written; give the service the right to write the file and its folder",
}


@pytest.mark.parametrize("what", list(MEANT))
async def test_log_that_cannot_be_written_loses_nothing_and_comes_back(
    what: str, disk: SmallDisk, system: System
) -> None:
    kept = [act(1).command_id]
    assert isinstance(await system.gateway.submit_async(act(1)), Accepted)
    with cause(what, disk, system) as (breaks, mends):
        breaks()
        for number in range(2, 400):  # a little room may be left in a file that has grown before
            outcome = await system.gateway.submit_async(act(number))
            if isinstance(outcome, Refusal):
                break
            kept.append(act(number).command_id)
        assert isinstance(outcome, Refusal)
        assert outcome.code is RefusalCode.UNAVAILABLE
        assert outcome.status.endswith(MEANT[what])
        status, amiss = await ready(system)
        assert status == 503
        assert MEANT[what] in amiss["log"]
        await _screens_keep_the_last_state(system, len(kept), MEANT[what])
        mends()
        await until(system, 200)
    assert isinstance(await system.gateway.submit_async(act(number)), Accepted)  # the same again: done once
    kept.append(act(number).command_id)
    await system.stop()
    log = SqlEventLog(disk.folder / "data" / "events.db", read_only=True)
    assert list(dict.fromkeys(r.command_id for r in log.read() if r.command_id.startswith("act-"))) == kept
    assert log.verify()[1] is None
    log.close()


async def _screens_keep_the_last_state(system: System, acts: int, meant: str) -> None:
    assert ("churn" in system.gateway.snapshot().state.machines) is (acts % 2 == 1)
    status, body = await asyncio.to_thread(get, f"{system.url}/machines")
    assert (status, meant in body) == (200, True)
    clock = await asyncio.to_thread(_first_clock, f"{system.url}/streams?panels=clock")
    assert '"linked": false' in clock


def _first_clock(url: str) -> str:
    import urllib.request

    with urllib.request.urlopen(url, timeout=10) as stream:
        for line in stream:
            if line.startswith(b'data: {"now"'):
                return str(line.decode())
    return ""


@pytest.mark.parametrize("where", ["header", "record"])
async def test_log_with_bytes_flipped_does_not_start_says_what_to_do_and_is_left_as_it_is(
    system: System, disk: SmallDisk, where: str
) -> None:
    for number in range(1, 40):
        await system.gateway.submit_async(act(number))
    await system.stop()
    file = disk.folder / "data" / "events.db"
    whole = bytearray(file.read_bytes())
    at = 0 if where == "header" else whole.rindex(b'"kind":"machine_stopped"')
    for place in range(at, at + 8):
        whole[place] ^= 0x15
    file.write_bytes(whole)
    DataFolder(disk.folder / "data").state.unlink(missing_ok=True)  # with it, a start reads newer records only
    again = build(Settings(data=disk.folder / "data", broker="none"), Hooks(web=False, planner=_nobody()))
    with pytest.raises(Failure, match=r"events\.db .*restore the last backup of the data folder"):
        await again.start()
    assert file.read_bytes()[at : at + 8] == whole[at : at + 8]


def _nobody() -> ScriptedPlanner:
    return ScriptedPlanner(lambda request: None)


async def test_readings_that_cannot_be_read_say_so_and_the_rest_goes_on(system: System, disk: SmallDisk) -> None:
    file = disk.folder / "data" / "readings.db"
    system.watch._parts.engine._monitoring._store._database._engine.dispose()
    for beside in ("-wal", "-shm"):
        Path(f"{file}{beside}").unlink(missing_ok=True)
    file.write_bytes(b"this is no database at all, but long enough" * 500)
    status, body = await asyncio.to_thread(get, f"{system.url}/probe/fridge-air")
    assert (status, "readings.db is not one of ours, or is damaged" in body) == (503, True)
    assert (await asyncio.to_thread(get, f"{system.url}/machines"))[0] == 200
    assert isinstance(await system.gateway.submit_async(act(1)), Accepted)


async def test_old_readings_go_though_the_list_of_refused_acts_cannot_be_tidied(tmp_path: Path) -> None:
    readings, access = MemoryReadings(), SqlAccessStore(tmp_path / "access.db")
    access.close()
    (tmp_path / "access.db").write_bytes(b"no database" * 100)
    long_ago = datetime(2020, 1, 1, tzinfo=UTC)
    readings.add([Reading(ProbeId("fridge-air"), 3.0, long_ago, long_ago)])
    keeper = Keeper(Settings(data=tmp_path / "data"))
    tidying = asyncio.create_task(keeper.tidy(readings, lambda: datetime(2026, 12, 1, tzinfo=UTC), access))
    async with asyncio.timeout(30):
        while readings.latest():
            await asyncio.sleep(0.01)
    assert not tidying.done()
    tidying.cancel()
    await asyncio.gather(tidying, return_exceptions=True)
