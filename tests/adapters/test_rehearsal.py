"""An act is rehearsed with the log: it fits exactly where an act does, costs no room, and is in no record."""

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from orchestrator.adapters.database import Database
from orchestrator.adapters.database_address import Address
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.events import KitchenImported, Recorded
from orchestrator.ports.event_log import LogUnavailable
from tests.contracts.test_event_log import AT, record
from tests.fakes.kitchens import small_kitchen
from tests.fakes.postgres import Postgres
from tests.fakes.small_disks import SmallDisk, small_disk


def fits(log: SqlEventLog) -> bool:
    """Whether an act would be written, by what the log says."""
    return _goes(log.rehearse)


def _goes(what: Callable[[], None]) -> bool:
    try:
        what()
    except LogUnavailable as trouble:
        if "disk is full; free some space" not in str(trouble):
            raise
        return False
    return True


def large(seq: int) -> Recorded:
    """A record of many pages, as the plan of a large kitchen is."""
    kitchen = small_kitchen()
    many = (kitchen.crew[0].model_copy(update={"name": secrets.token_hex(150_000)}),)
    event = KitchenImported(kitchen=kitchen.model_copy(update={"crew": many}))
    return Recorded.model_validate({"seq": seq, "at": AT, "command_id": f"c{seq}", "event": event})


@pytest.fixture
def disk() -> Iterator[SmallDisk]:
    with small_disk() as found:
        yield found


@contextmanager
def opened(disk: SmallDisk, name: str = "events.db") -> Iterator[SqlEventLog]:
    log = SqlEventLog(disk.folder / name)
    disk.watch(log._database._engine)
    log.append([record(1)])
    try:
        yield log
    finally:
        log.close()


def test_act_that_was_rehearsed_is_written_however_little_room_is_left(disk: SmallDisk) -> None:
    said = []
    for pages in range(30):
        with opened(disk, f"{pages}.db") as log:
            disk.fill(leave=pages)
            said.append(fits(log))
            if said[-1]:
                log.append([record(2)])
            disk.free()
    assert said == sorted(said)
    assert (said[0], said[-1]) == (False, True)


def test_full_disk_is_told_full_however_often_it_is_asked(disk: SmallDisk) -> None:
    with opened(disk) as log:
        disk.fill()
        seq = next(seq for seq in range(2, 2000) if not _goes(partial(log.append, [record(seq)])))
        assert not any(fits(log) for _ in range(50))
        disk.free()
        assert fits(log)
        log.append([record(seq)])
        assert [r.seq for r in log.read()] == list(range(1, seq + 1))
        assert log.verify() == (log.head, None)


def test_commit_that_was_refused_for_its_size_is_what_is_rehearsed(disk: SmallDisk) -> None:
    with opened(disk) as log:
        disk.fill(leave=50)
        assert fits(log)
        with pytest.raises(LogUnavailable, match="the disk is full"):
            log.append([large(2)])
        assert not fits(log)
        disk.free()
        assert fits(log)
        log.append([large(2)])
        disk.fill(leave=50)
        assert fits(log)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_rehearsing_for_days_leaves_no_record_and_takes_no_room(
    kind: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    where = tmp_path / "events.db" if kind == "sqlite" else request.getfixturevalue("server").url()
    log = SqlEventLog(where)
    log.append([record(1)])
    log.rehearse()
    before, tables = _size(log._database, tmp_path), _tables(log._database)
    for _ in range(300):
        log.rehearse()
    # 300 commits of a page each, that is what telling the disk apart from its cache costs; of 300 acts it is nothing.
    assert _size(log._database, tmp_path) - before < 300 * 4200
    assert _tables(log._database) == tables
    assert list(log.read()) == [record(1)]
    log.append([record(2)])
    assert log.verify() == (log.head, None)
    assert log.head.seq == 2
    log.close()


def _size(database: Database, folder: Path) -> int:
    if database.is_sqlite:
        return sum(file.stat().st_size for file in folder.iterdir())
    with database.reading() as connection:
        mine = "FROM pg_class AS mine WHERE relnamespace = current_schema()::regnamespace"
        return int(connection.exec_driver_sql(f"SELECT sum(pg_total_relation_size(mine.oid)) {mine}").scalar_one())


def _tables(database: Database) -> list[str]:
    own = "SELECT tablename FROM pg_tables WHERE schemaname = current_schema() ORDER BY 1"
    if database.is_sqlite:
        own = "SELECT name FROM sqlite_master ORDER BY 1"
    with database.reading() as connection:
        return list(connection.exec_driver_sql(own).scalars())


@contextmanager
def tight(server: Postgres, disk: SmallDisk) -> Iterator[str]:
    """A database whose files lie on that disk."""
    place = server.own_folder(disk.folder)
    name = f"tight_{secrets.token_hex(4)}"
    maker = create_engine(Address.of(server.url()).url, isolation_level="AUTOCOMMIT")
    with maker.connect() as made:
        made.execute(text(f"CREATE TABLESPACE {name} LOCATION '{place}'"))
        made.execute(text(f"CREATE DATABASE {name} TABLESPACE {name}"))
        try:
            yield server.url().replace("/postgres?", f"/{name}?")
        finally:
            made.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
            made.execute(text(f"DROP TABLESPACE {name}"))
    maker.dispose()


def test_disk_of_a_server_that_is_full_is_told_before_anybody_acts(server: Postgres) -> None:
    with small_disk("24m") as disk, tight(server, disk) as url:
        log = SqlEventLog(url)
        log.append([record(1)])
        assert fits(log)
        if not disk.real:  # no file system may be mounted here: a server with room is all that can be tried
            return
        disk.fill()
        assert not any(fits(log) for _ in range(3))
        disk.free()
        assert fits(log)
        log.append([record(2)])
        assert log.verify() == (log.head, None)
        log.close()
