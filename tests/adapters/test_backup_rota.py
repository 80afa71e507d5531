"""Backups that follow each other: each is proven as it lies on the disk, the oldest go, the last good one is known."""

import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from orchestrator.adapters import backup_rota
from orchestrator.adapters.backup import Places, restore
from orchestrator.adapters.backup_process import BackupProcess
from orchestrator.adapters.backup_proof import prove
from orchestrator.adapters.backup_rota import kept, last_good, take
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.ports.event_log import LogUnavailable
from tests.adapters.test_backup import AT
from tests.adapters.test_backup import kept as record_of_ten  # noqa: F401 - a fixture
from tests.contracts.test_event_log import record
from tests.fakes.postgres import Postgres

DAY = timedelta(days=1)


def test_take_four_days_keeps_the_newest_three_and_what_is_not_ours(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    folder = tmp_path / "backups"
    (folder / "somebody's own").mkdir(parents=True)
    made = [take(record_of_ten, folder, 3, AT + n * DAY) for n in range(4)]
    assert sorted(one.name for one in folder.iterdir()) == [
        "coldwright-20261126T060000Z",
        "coldwright-20261127T060000Z",
        "coldwright-20261128T060000Z",
        "last-good.json",
        "somebody's own",
    ]
    assert (last_good(folder), kept(folder)) == (made[3], 3)
    assert (made[3].events, made[3].made_at) == (10, AT + 3 * DAY)
    restore(made[3].folder, Places(tmp_path / "events.db", tmp_path / "readings.db"))


@pytest.mark.parametrize("name", ["events.db", "readings.db"])
def test_prove_a_byte_flipped_on_the_disk_says_which_file(record_of_ten: Places, tmp_path: Path, name: str) -> None:  # noqa: F811
    made = take(record_of_ten, tmp_path / "backups", 3, AT)
    assert prove(made.folder).events == 10
    whole = (made.folder / name).read_bytes()
    (made.folder / name).write_bytes(whole[:5000] + bytes([whole[5000] ^ 1]) + whole[5001:])
    with pytest.raises(LogUnavailable, match=rf"{name} is not what was backed up; make another backup"):
        prove(made.folder)


def test_take_that_is_not_good_is_not_kept_and_older_ones_are(
    record_of_ten: Places,  # noqa: F811
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = tmp_path / "backups"
    first = take(record_of_ten, folder, 1, AT)

    def bad(made: Path) -> None:
        raise LogUnavailable(f"{made} is damaged")

    monkeypatch.setattr(backup_rota, "prove", bad)
    with pytest.raises(LogUnavailable, match="is damaged"):
        take(record_of_ten, folder, 1, AT + DAY)
    assert (last_good(folder), kept(folder)) == (first, 1)


def test_take_of_a_changed_log_keeps_the_older_backup(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    folder = tmp_path / "backups"
    first = take(record_of_ten, folder, 1, AT)
    with sqlite3.connect(record_of_ten.event_log) as other:
        other.execute("UPDATE event SET command_id = 'forged' WHERE seq = 4")
    with pytest.raises(LogUnavailable, match="record 4 is changed"):
        take(record_of_ten, folder, 1, AT + DAY)
    assert last_good(folder) == first


def test_last_good_taken_away_by_hand_is_none(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    made = take(record_of_ten, tmp_path / "backups", 3, AT)
    shutil.rmtree(made.folder)
    assert last_good(tmp_path / "backups") is None


def test_take_sweeps_what_was_cut_short_before(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    half = tmp_path / "backups" / "coldwright-20261124T060000Z.unfinished"
    half.mkdir(parents=True)
    take(record_of_ten, tmp_path / "backups", 3, AT)
    assert not half.exists()


def test_take_into_a_folder_that_is_a_file_names_it(record_of_ten: Places, tmp_path: Path) -> None:  # noqa: F811
    (tmp_path / "backups").write_text("no folder")
    with pytest.raises(LogUnavailable, match=r"backups cannot be written: .*; name another folder for backups"):
        take(record_of_ten, tmp_path / "backups", 3, AT)


def test_process_takes_one_of_postgresql_while_it_is_written(server: Postgres, tmp_path: Path) -> None:
    url = server.url()
    log = SqlEventLog(url)
    log.append([record(seq) for seq in range(1, 8)])
    made = BackupProcess().take(Places(url, url), tmp_path / "backups", 3, AT)
    assert (made.events, last_good(tmp_path / "backups")) == (7, made)
    log.close()


def test_process_that_cannot_read_says_why(tmp_path: Path) -> None:
    places = Places(tmp_path / "gone" / "events.db", tmp_path / "gone" / "readings.db")
    with pytest.raises(LogUnavailable, match=r"the folder .*gone is missing; create it"):
        BackupProcess().take(places, tmp_path / "backups", 3, AT)
