"""A few kills in every test run; a thousand by the command (`__main__`). And the check itself can fail."""

import random
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from orchestrator.adapters.data_folder import DataFolder
from orchestrator.core.events import MachineReturned, Recorded
from tests.simulation.faulty.kitchens import kitchen_of
from tests.simulation.killed import kills

TIMES = 8


def test_killed_processes_lose_and_double_nothing_that_they_acknowledged(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tests.simulation.killed", "--times", str(TIMES), "--seed", "7"]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert ran.stdout.startswith(f"{TIMES} kills in ")
    assert " acts; " in ran.stdout


def record(number: int) -> Recorded:
    at = f"2026-11-25T06:00:0{number}Z"
    event = MachineReturned.model_validate({"equipment": "churn", "at": at, "person": None})
    return Recorded.model_validate({"seq": number, "at": at, "command_id": f"c{number}", "event": event})


class Dead(kills.Folder):
    """A folder with a log, and no process that was ever started."""

    def _first_plan(self) -> str:
        return ""


@pytest.fixture
def folder(tmp_path: Path) -> kills.Folder:
    dead = Dead(tmp_path / "data", kitchen_of(1, change=False), random.Random(1))
    place = DataFolder(tmp_path / "data")
    log = kills.SqlEventLog(place.event_log)
    log.append([record(number) for number in (1, 2, 3)])
    log.close()
    dead.told.seqs = {f"c{number}": number for number in (1, 2, 3)}
    dead.check()
    return dead


def test_acknowledged_act_that_is_gone_is_found(folder: kills.Folder, tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "data" / "events.db") as connection:
        connection.execute("DELETE FROM event WHERE seq = 3")
    with pytest.raises(AssertionError, match="acknowledged and not on record"):
        folder.check()


def test_record_that_was_changed_is_found(folder: kills.Folder, tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "data" / "events.db") as connection:
        connection.execute("UPDATE event SET command_id = 'another' WHERE seq = 2")
    with pytest.raises(AssertionError, match='"whole": false'):
        folder.check()


def test_reading_that_was_acknowledged_and_is_gone_is_found(folder: kills.Folder) -> None:
    folder.told.readings_kept = {1}
    with pytest.raises(AssertionError, match="a reading was acknowledged and is not kept"):
        folder.check()
