"""What the SQLite files say when something is wrong, and that nothing half-written is ever seen."""

import signal
import sqlite3
import subprocess
import sys
import textwrap
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.database import from_micros, to_micros
from orchestrator.adapters.database_errors import explain
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.ports.event_log import LogUnavailable
from tests.contracts.test_event_log import record


def test_log_folder_missing_says_to_create_it(tmp_path: Path) -> None:
    with pytest.raises(LogUnavailable, match=r"the folder .*nowhere is missing; create it"):
        SqlEventLog(tmp_path / "nowhere" / "events.db")


def test_log_locked_says_who_to_close_and_writes_nothing(tmp_path: Path) -> None:
    log = SqlEventLog(tmp_path / "events.db", busy_s=0.05)
    other = sqlite3.connect(tmp_path / "events.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(LogUnavailable, match="is locked by another program; close the other program"):
        log.append([record(1)])
    other.execute("ROLLBACK")
    other.close()
    log.append([record(1)])
    assert [r.seq for r in log.read()] == [1]
    log.close()


def test_log_disk_full_says_so_and_keeps_what_was(tmp_path: Path) -> None:
    log = SqlEventLog(tmp_path / "events.db")
    log.append([record(1)])
    with log._database.writing() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
    # SQLite reports a file at its page limit with the same SQLITE_FULL as a full disk.
    log._database._engine.dispose()
    from sqlalchemy import event

    @event.listens_for(log._database._engine, "connect")
    def _limit(connection: sqlite3.Connection, _record: object) -> None:
        connection.execute(f"PRAGMA max_page_count = {pages}")

    with pytest.raises(LogUnavailable, match="cannot grow: the disk is full; free some space"):
        log.append([record(seq) for seq in range(2, 2000)])
    assert [r.seq for r in log.read()] == [1]
    log.close()


def test_log_read_only_says_to_give_the_right(tmp_path: Path) -> None:
    path = tmp_path / "events.db"
    SqlEventLog(path).close()
    read_only = sqlite3.connect(f"file:{path}?mode=ro", uri=True)  # file rights would not stop root
    with pytest.raises(sqlite3.OperationalError) as caught:
        read_only.execute("DELETE FROM event")
    read_only.close()
    assert explain(path, caught.value) == (
        f"{path} cannot be written; give the service the right to write the file and its folder"
    )


def test_log_damaged_says_to_restore(tmp_path: Path) -> None:
    (tmp_path / "events.db").write_bytes(b"this is no database at all, but long enough" * 50)
    with pytest.raises(LogUnavailable, match="restore the last backup"):
        SqlEventLog(tmp_path / "events.db")


def test_log_record_not_understood_names_it(tmp_path: Path) -> None:
    log = SqlEventLog(tmp_path / "events.db")
    log.append([record(1), record(2)])
    with sqlite3.connect(tmp_path / "events.db") as other:
        other.execute('UPDATE event SET body = \'{"kind": "nonsense"}\' WHERE seq = 2')
    with pytest.raises(LogUnavailable, match=r"record 2 \(machine_returned\)"):
        list(log.read())
    log.close()


def test_log_newer_schema_is_left_alone(tmp_path: Path) -> None:
    SqlEventLog(tmp_path / "events.db").close()
    with sqlite3.connect(tmp_path / "events.db") as other:
        other.execute("PRAGMA user_version = 99")
    with pytest.raises(LogUnavailable, match="written by a newer version"):
        SqlEventLog(tmp_path / "events.db")


def test_log_is_wal_and_synchronous_full(tmp_path: Path) -> None:
    log = SqlEventLog(tmp_path / "events.db")
    with log._database.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar_one() == 2
    log.close()


def test_readings_table_has_no_row_id(tmp_path: Path) -> None:
    SqlReadings(tmp_path / "readings.db").close()
    with sqlite3.connect(tmp_path / "readings.db") as other:
        (sql,) = other.execute("SELECT sql FROM sqlite_master WHERE name = 'reading'").fetchone()
    assert sql.rstrip().endswith("WITHOUT ROWID")


def test_log_killed_while_appending_keeps_whole_commits(tmp_path: Path) -> None:
    writer = textwrap.dedent(
        """
        import sys
        from pathlib import Path
        from orchestrator.adapters.sql_event_log import SqlEventLog
        from tests.contracts.test_event_log import record

        log = SqlEventLog(Path(sys.argv[1]))
        for commit in range(100_000):
            log.append([record(commit * 10 + n) for n in range(1, 11)])
            print(commit * 10 + 10, flush=True)
        """
    )
    child = subprocess.Popen(
        [sys.executable, "-c", writer, str(tmp_path / "events.db")], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    acknowledged = 0
    for line in child.stdout:
        acknowledged = int(line)
        if acknowledged >= 200:
            child.send_signal(signal.SIGKILL)
            break
    acknowledged = max([acknowledged, *(int(line) for line in child.stdout if line.endswith("\n"))])
    child.stdout.close()
    child.wait()
    log = SqlEventLog(tmp_path / "events.db")
    kept = [r.seq for r in log.read()]
    log.close()
    assert kept == list(range(1, len(kept) + 1))
    assert len(kept) % 10 == 0
    assert len(kept) >= acknowledged


def test_folder_taken_twice_is_refused_until_released(tmp_path: Path) -> None:
    first, second = DataFolder(tmp_path / "data"), DataFolder(tmp_path / "data")
    first.take()
    with pytest.raises(LogUnavailable, match="is used by another service"):
        second.take()
    first.release()
    second.take()
    second.release()


@given(st.datetimes(timezones=st.just(UTC)))
def test_micros_round_trip_is_exact(instant: datetime) -> None:
    assert from_micros(to_micros(instant)) == instant
