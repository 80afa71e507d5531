"""A database of an older version is brought up, and nothing in it is lost."""

import sqlite3
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, inspect

from orchestrator.adapters import access_tables, act_tables, job_tables, readings_tables, sql_event_log
from orchestrator.adapters.database import Database
from orchestrator.adapters.migrations import HEADS, Part, _config
from orchestrator.adapters.sql_event_log import SqlEventLog
from tests.contracts.test_event_log import record

# As the first version made them, copied from a file of its own.
FIRST_LOG = """
CREATE TABLE event (seq INTEGER NOT NULL, recorded_at_us INTEGER NOT NULL, command_id VARCHAR NOT NULL,
                    kind VARCHAR NOT NULL, body VARCHAR NOT NULL, PRIMARY KEY (seq));
CREATE INDEX event_by_kind ON event (kind);
PRAGMA user_version = 1;
"""


def written_by_the_first_version(path: Path, count: int) -> None:
    with sqlite3.connect(path) as old:
        old.executescript(FIRST_LOG)
        for seq in range(1, count + 1):
            one = record(seq)
            at_us = round(one.at.timestamp() * 1_000_000)
            row = (one.seq, at_us, one.command_id, one.event.kind, one.event.model_dump_json())
            old.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?)", row)
    old.close()


def test_log_of_the_first_version_is_read_chained_and_written_on(tmp_path: Path) -> None:
    path = tmp_path / "events.db"
    written_by_the_first_version(path, 1203)
    log = SqlEventLog(path)
    log.append([record(1204)])
    assert [r.seq for r in log.read()] == list(range(1, 1205))
    head, broken = log.verify()
    assert broken is None
    assert head == log.head
    assert head.seq == 1204
    log.close()


def test_log_brought_up_is_left_alone_by_the_first_version(tmp_path: Path) -> None:
    SqlEventLog(tmp_path / "events.db").close()
    with sqlite3.connect(tmp_path / "events.db") as old:
        assert old.execute("PRAGMA user_version").fetchone()[0] > 1, "the first version refuses what is above 1"


@pytest.mark.parametrize("part", ["log", "readings", "access", "jobs", "acts"])
def test_heads_are_those_of_the_files(part: Part) -> None:
    with create_engine("sqlite://").connect() as connection:
        scripts = ScriptDirectory.from_config(_config(connection, part))
        assert scripts.get_heads() == [f"{HEADS[part]:04}"]


@pytest.mark.parametrize("part", ["log", "readings", "access", "jobs", "acts"])
def test_steps_make_the_tables_that_the_program_uses(part: Part, tmp_path: Path) -> None:
    path = tmp_path / "one.db"
    Database(path, part).close()
    made = {"log": sql_event_log._METADATA, "readings": readings_tables.METADATA, "access": access_tables.METADATA}
    made |= {"jobs": job_tables.METADATA, "acts": act_tables.METADATA}
    used = made[part].tables
    found = inspect(create_engine(f"sqlite:///{path}"))
    for table in used.values():
        columns = {
            column["name"]: (str(column["type"]), column["nullable"]) for column in found.get_columns(table.name)
        }
        assert columns == {c.name: (str(c.type), bool(c.nullable)) for c in table.columns}
        assert found.get_pk_constraint(table.name)["constrained_columns"] == [c.name for c in table.primary_key]
        assert [i["name"] for i in found.get_indexes(table.name)] == [i.name for i in table.indexes]
