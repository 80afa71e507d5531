"""The bench of acts writes what it says, beside what is as durable; how long it takes is no matter of a test."""

import sqlite3
from pathlib import Path

import pytest

from orchestrator.kitchen.read import read_kitchen
from tests.benchmarks.acts import BLOCKS, _row, measured, measurements, tables
from tests.benchmarks.bare_databases import bare_sqlite
from tests.benchmarks.screens_service import CONFIG, cooking
from tests.simulation.house import House


def test_bare_commit_is_as_durable_as_ours(tmp_path: Path) -> None:
    """Source: SQLite, PRAGMA synchronous: 2 is FULL, as `adapters.database` sets it."""
    file = tmp_path / "bare.sqlite"
    with bare_sqlite(file) as bare:
        connection = vars(bare)["_connection"]
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        bare.commit([_row(20), _row(20)])
        with sqlite3.connect(file) as other:
            assert other.execute("SELECT count(*), max(length(body)) FROM bare").fetchone() == (2, 20)


@pytest.mark.parametrize("senders", [1, 3])
def test_acts_are_on_record_once_each_and_as_many_bare_rows_beside_them(tmp_path: Path, senders: int) -> None:
    file, start = tmp_path / "bare.sqlite", read_kitchen(CONFIG).planning_start
    with bare_sqlite(file) as bare, House(CONFIG, tmp_path / "data", start, most_solved=0) as house:
        house.let(lambda system: cooking(system, house.clock))
        before = house.gateway.snapshot().state.seq
        figures = measured(house.gateway, bare, senders, BLOCKS * senders * 2)
        records = house.gateway.history(before, 1000)
        with sqlite3.connect(file) as other:
            (rows,) = other.execute("SELECT count(*) FROM bare").fetchone()
    entered = [record for record in records if record.event.kind == "temperature_entered"]
    assert len({record.command_id for record in entered}) == figures["acts"] == rows == BLOCKS * senders * 2
    assert figures["body"] == pytest.approx(len(entered[0].event.model_dump_json()), rel=0.2)
    assert 0 < figures["act"]["p50"] <= figures["act"]["p99"]
    assert tables({"one": {**figures, "database": "SQLite", "senders": senders}}).count("| SQLite") == 1


def test_measurements_are_each_database_with_each_number_of_senders() -> None:
    assert len({m.key for m in measurements(full=False)}) == 6
