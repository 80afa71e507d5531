"""A backup made while the service writes is whole, and what is put back is what was."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.backup import Places, back_up, read_manifest, restore
from orchestrator.adapters.chain import Head
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.adapters.sql_readings import SqlReadings
from orchestrator.core.ids import ProbeId
from orchestrator.ports.access import Role, Wish
from orchestrator.ports.event_log import Keeping, LogUnavailable, Reading
from tests.contracts.test_event_log import record
from tests.fakes.postgres import Postgres

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
PROBE = ProbeId("freezer-air")


def reading(minute: int) -> Reading:
    at = AT + timedelta(minutes=minute)
    return Reading(PROBE, -18 - minute / 100, at, at + timedelta(seconds=1), seq=minute)


def places(kind: str, request: pytest.FixtureRequest, folder: Path) -> Places:
    if kind == "postgresql":
        server: Postgres = request.getfixturevalue("server")
        url = server.url()
        return Places(url, url, url)
    folder.mkdir()
    return Places(folder / "events.db", folder / "readings.db", folder / "access.db")


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
@pytest.mark.parametrize("source", ["sqlite", "postgresql"])
def test_backup_put_back_is_what_was_in_either_database(
    source: str, target: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    here, there = places(source, request, tmp_path / "here"), places(target, request, tmp_path / "there")
    log, readings = SqlEventLog(here.event_log), SqlReadings(here.readings)
    log.append([record(seq) for seq in range(1, 2_501)])
    readings.add([reading(minute) for minute in range(3_000)])
    readings.tidy(AT + timedelta(days=2), Keeping(loose=timedelta(days=1)))
    assert here.access is not None
    access = SqlAccessStore(here.access)
    access.set_passphrase("walnut ferry lantern oxide", AT)
    ((_, code),) = access.make_spares([Wish("Spare", "", Role.STATION)], AT)
    manifest = back_up(here, tmp_path / "backup", AT)  # while all are open
    log.append([record(2_501)])
    assert restore(tmp_path / "backup", there) == manifest
    assert (manifest.events, manifest.readings) == (2_500, 3_000)
    back, back_readings = SqlEventLog(there.event_log), SqlReadings(there.readings)
    assert list(back.read()) == [record(seq) for seq in range(1, 2_501)]
    assert back.head == Head.of(manifest.head)
    assert list(back_readings.between(PROBE, AT, AT + timedelta(days=9))) == [reading(m) for m in range(3_000)]
    back.append([record(2_501)])
    assert back.verify() == (log.head, None)
    assert there.access is not None
    back_access = SqlAccessStore(there.access)
    assert back_access.is_passphrase("walnut ferry lantern oxide")
    assert back_access.use_spare(code, AT) is not None
    for opened in (log, readings, access, back, back_readings, back_access):
        opened.close()


@pytest.fixture
def kept(tmp_path: Path) -> Places:
    (tmp_path / "data").mkdir()
    found = Places(tmp_path / "data" / "events.db", tmp_path / "data" / "readings.db")
    log, readings = SqlEventLog(found.event_log), SqlReadings(found.readings)
    log.append([record(seq) for seq in range(1, 11)])
    readings.add([reading(1)])
    log.close()
    readings.close()
    return found


def test_backup_into_a_folder_that_is_there_is_refused(kept: Places, tmp_path: Path) -> None:
    with pytest.raises(LogUnavailable, match="is there already; name a new folder for each backup"):
        back_up(kept, tmp_path, AT)


def test_backup_of_a_changed_log_is_refused_and_leaves_no_folder(kept: Places, tmp_path: Path) -> None:
    with sqlite3.connect(kept.event_log) as other:
        other.execute("UPDATE event SET command_id = 'forged' WHERE seq = 4")
    with pytest.raises(LogUnavailable, match="is not whole: record 4 is changed"):
        back_up(kept, tmp_path / "backup", AT)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["data"]


def test_restore_over_a_record_is_refused(kept: Places, tmp_path: Path) -> None:
    back_up(kept, tmp_path / "backup", AT)
    with pytest.raises(LogUnavailable, match="holds records already; a backup is put back into an empty place only"):
        restore(tmp_path / "backup", kept)


@pytest.mark.parametrize("file", ["events.db", "readings.db"])
def test_restore_of_a_backup_changed_since_is_refused(file: str, kept: Places, tmp_path: Path) -> None:
    back_up(kept, tmp_path / "backup", AT)
    with (tmp_path / "backup" / file).open("r+b") as opened:
        opened.seek(-1, 2)
        opened.write(b"?")
    (tmp_path / "new").mkdir()
    with pytest.raises(LogUnavailable, match=f"{file} is not what was backed up: take another backup"):
        restore(tmp_path / "backup", Places(tmp_path / "new" / "events.db", tmp_path / "new" / "readings.db"))


def test_restore_of_what_is_no_backup_says_so(kept: Places, tmp_path: Path) -> None:
    with pytest.raises(LogUnavailable, match=r"is no backup of ours: it has no backup\.json that can be read"):
        restore(tmp_path / "data", kept)


def test_restore_of_a_later_format_says_so(kept: Places, tmp_path: Path) -> None:
    back_up(kept, tmp_path / "backup", AT)
    file = tmp_path / "backup" / "backup.json"
    file.write_text(json.dumps(json.loads(file.read_text()) | {"format": 2}))
    with pytest.raises(LogUnavailable, match="by a newer version"):
        read_manifest(tmp_path / "backup")
