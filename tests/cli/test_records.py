"""``coldwright records``, as a person calls it."""

import json
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.cli.main import main
from tests.contracts.test_event_log import record
from tests.fakes.postgres import Postgres


def call(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["records", *map(str, arguments)])


@pytest.fixture
def data(tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    folder.mkdir()
    log = SqlEventLog(folder / "events.db")
    log.append([record(seq) for seq in range(1, 6)])
    log.close()
    SqlReadings(folder / "readings.db").close()
    return folder


def test_verify_whole_record_tells_its_head(data: Path) -> None:
    told = json.loads(call("verify", "--data", data, "--json").stdout)
    assert (told["whole"], told["records"], told["broken"]) == (True, 5, None)
    found = call("verify", "--data", data, "--head", told["head"])
    assert (found.exit_code, found.stdout.splitlines()[1]) == (0, f"Head: {told['head']}")


def test_verify_changed_record_names_it_and_exits_with_one(data: Path) -> None:
    with sqlite3.connect(data / "events.db") as other:
        other.execute("UPDATE event SET body = replace(body, 'manager', 'nobody') WHERE seq = 3")
    found = call("verify", "--data", data)
    assert found.exit_code == 1
    assert found.stdout.startswith(
        "The record is not whole: record 3 is not what was recorded.\nUp to record 2 it holds."
    )


def test_verify_record_cut_off_is_seen_against_its_head(data: Path) -> None:
    head = json.loads(call("verify", "--data", data, "--json").stdout)["head"]
    with sqlite3.connect(data / "events.db") as other:
        other.execute("DELETE FROM event WHERE seq > 3")
    assert call("verify", "--data", data).exit_code == 0
    found = call("verify", "--data", data, "--head", head)
    assert (found.exit_code, "records from 4 on are missing" in found.stdout) == (1, True)


def test_verify_bad_head_or_no_record_exits_with_two_and_makes_nothing(data: Path, tmp_path: Path) -> None:
    assert call("verify", "--data", data, "--head", "7:xyz").exit_code == 2
    nothing = call("verify", "--data", tmp_path / "nothing")
    assert (nothing.exit_code, "there is no record in" in nothing.stderr) == (2, True)
    assert not (tmp_path / "nothing").exists()


def test_backup_and_restore_go_round(data: Path, tmp_path: Path) -> None:
    made = call("backup", tmp_path / "backup", "--data", data)
    assert (made.exit_code, made.stdout.splitlines()[0]) == (
        0,
        f"{tmp_path / 'backup'}: 5 records and 0 readings, proven whole.",
    )
    back = call("restore", tmp_path / "backup", "--data", tmp_path / "new")
    assert back.exit_code == 0, back.output
    heads = [json.loads(call("verify", "--data", at, "--json").stdout)["head"] for at in (data, tmp_path / "new")]
    assert heads[0] == heads[1]


def test_restore_under_a_running_service_is_refused(data: Path, tmp_path: Path) -> None:
    call("backup", tmp_path / "backup", "--data", data)
    running = DataFolder(tmp_path / "new")
    running.take()
    found = call("restore", tmp_path / "backup", "--data", tmp_path / "new")
    running.release()
    assert (found.exit_code, "is used by another service" in found.stderr) == (2, True)


def test_database_of_the_environment_is_used_and_a_named_folder_wins(
    data: Path, server: Postgres, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLDWRIGHT_DATABASE", server.url())
    assert json.loads(call("verify", "--json").stdout)["records"] == 0
    assert json.loads(call("verify", "--json", "--data", data).stdout)["records"] == 5
