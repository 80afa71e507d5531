"""Every event log keeps this contract: in SQLite, in PostgreSQL, and the fake in memory."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.events import KitchenImported, MachineReturned, Recorded
from orchestrator.ports.event_log import EventLog, LogUnavailable
from tests.fakes.event_logs import MemoryEventLog
from tests.fakes.kitchens import small_kitchen

AT = datetime(2026, 11, 25, 6, 0, 0, 123457, tzinfo=UTC)


def record(seq: int) -> Recorded:
    event = MachineReturned.model_validate({"equipment": "churn", "at": AT, "person": "manager"})
    return Recorded.model_validate(
        {"seq": seq, "at": AT + timedelta(seconds=seq), "command_id": f"c{seq}", "event": event}
    )


@pytest.fixture(params=["sqlite", "postgresql", "memory"])
def make_log(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[], EventLog]]:
    opened: list[EventLog] = []
    url = request.getfixturevalue("server").url() if request.param == "postgresql" else ""

    def make() -> EventLog:
        log: EventLog = MemoryEventLog() if request.param == "memory" else SqlEventLog(url or tmp_path / "events.db")
        opened.append(log)
        return log

    yield make
    for log in opened:
        log.close()


def test_log_new_reads_nothing(make_log: Callable[[], EventLog]) -> None:
    assert list(make_log().read()) == []


def test_log_append_reads_back_equal_and_in_order(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    log.append([record(1), record(2)])
    log.append([record(3)])
    assert list(log.read()) == [record(1), record(2), record(3)]
    assert list(log.read(after=2)) == [record(3)]


def test_log_append_whole_kitchen_reads_back_equal(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    imported = Recorded.model_validate(
        {"seq": 1, "at": AT, "command_id": "import", "event": KitchenImported(kitchen=small_kitchen())}
    )
    log.append([imported])
    assert list(log.read()) == [imported]


def test_log_append_seq_taken_writes_none_of_them(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    log.append([record(1), record(2)])
    with pytest.raises(LogUnavailable):
        log.append([record(3), record(2)])
    assert [r.seq for r in log.read()] == [1, 2]


def test_log_append_nothing_is_harmless(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    log.append([])
    assert list(log.read()) == []


def test_log_rehearse_is_in_no_record_and_hinders_none(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    log.rehearse()
    log.append([record(1)])
    log.rehearse()
    log.append([record(2)])
    assert list(log.read()) == [record(1), record(2)]


def test_log_read_more_than_a_page_misses_none(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    log.append([record(seq) for seq in range(1, 1203)])
    assert [r.seq for r in log.read(after=1)] == list(range(2, 1203))


def test_log_read_while_written_sees_whole_commits(make_log: Callable[[], EventLog]) -> None:
    log = make_log()
    log.append([record(1)])
    reading = log.read()
    first = next(iter(reading))
    log.append([record(2)])
    assert first == record(1)
    assert [r.seq for r in log.read()] == [1, 2]
