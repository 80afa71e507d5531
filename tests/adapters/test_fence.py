"""One writer for each kitchen: who opened the log last has the pen, and all before are refused."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.ports.event_log import LogUnavailable
from tests.contracts.test_event_log import record
from tests.fakes.postgres import Postgres


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Path | str:
    if request.param == "sqlite":
        return tmp_path / "events.db"
    server: Postgres = request.getfixturevalue("server")
    return server.url()


@pytest.fixture
def opened(where: Path | str) -> Iterator[Callable[..., SqlEventLog]]:
    logs: list[SqlEventLog] = []

    def make(holder: str = "", *, read_only: bool = False) -> SqlEventLog:
        logs.append(SqlEventLog(where, holder=holder, read_only=read_only))
        return logs[-1]

    yield make
    for log in logs:
        log.close()


def test_two_writers_forced_at_once_the_first_is_refused_and_writes_nothing(opened: Callable[..., SqlEventLog]) -> None:
    first = opened("first machine")
    first.append([record(1)])
    second = opened("second machine")
    with pytest.raises(LogUnavailable, match="written by another service now second machine; nothing was written here"):
        first.append([record(2)])
    second.append([record(2)])
    assert [r.seq for r in second.read()] == [1, 2]
    assert second.verify()[1] is None


def test_writer_refused_stays_refused_after_the_other_ended(opened: Callable[..., SqlEventLog]) -> None:
    first, second = opened("first"), opened("second")
    second.close()
    for _ in range(2):
        with pytest.raises(LogUnavailable, match="another service"):
            first.rehearse()


def test_reader_takes_no_pen(opened: Callable[..., SqlEventLog]) -> None:
    writer = opened("kitchen")
    writer.append([record(1)])
    reader = opened(read_only=True)
    assert [r.seq for r in reader.read()] == [1]
    with pytest.raises(LogUnavailable, match="opened to be read only"):
        reader.append([record(2)])
    writer.append([record(2)])
    assert reader.verify() == (writer.head, None)


def test_commit_that_failed_leaves_the_chain_whole(opened: Callable[..., SqlEventLog]) -> None:
    log = opened()
    log.append([record(1), record(2)])
    with pytest.raises(LogUnavailable):
        log.append([record(3), record(2)])
    log.append([record(3)])
    assert log.verify() == (log.head, None)
    assert log.head.seq == 3
