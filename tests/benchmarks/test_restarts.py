"""The year's log is a log like any other: whole, chained, longer by each round; and the bench measures what it says."""

from datetime import timedelta
from pathlib import Path

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.events import KitchenImported, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.engine.replay import replay
from tests.benchmarks.restarts import tables
from tests.benchmarks.year_log import repeated, write
from tests.browser.full_house import script


def test_repeated_days_are_a_whole_log_with_names_and_dates_of_their_own(tmp_path: Path) -> None:
    records: list[Recorded] = list(script().log)
    many = list(repeated(records, 2, 3))
    between = 2 * 2  # the days go on, and the orders are wanted again
    assert [record.seq for record in many] == list(range(1, 3 * len(records) - 1 + between))
    assert len({record.command_id for record in many}) == 3 * len({r.command_id for r in records}) + between
    started = [r for r in many if r.event.kind == "task_started"]
    each = len(started) // 3
    assert {str(r.event.task) for r in started[:2]} == {"C1.weigh", "C1.cook"}  # type: ignore[union-attr]
    assert {str(r.event.task) for r in started[each : each + 2]} == {"C1r1.weigh", "C1r1.cook"}  # type: ignore[union-attr]
    assert started[each].event.at - started[0].event.at == timedelta(days=2)
    assert write(tmp_path / "year.db", many) == len(many)
    log = SqlEventLog(tmp_path / "year.db", read_only=True)
    head, broken = log.verify()
    assert (head.seq, broken) == (len(many), None)
    state = replay(log, evolve)
    assert state.plan is not None
    assert {str(batch.lot)[-2:] for batch in state.plan.batches} == {"r2"}
    assert {"C1", "C1r1"} <= state.past.batches.keys()
    first = next(record.event.kitchen for record in records if isinstance(record.event, KitchenImported))
    assert state.kitchen is not None
    assert state.kitchen.planning_start - first.planning_start == timedelta(days=4)
    last_ends = [kitchen.crew[0].shifts[-1].end for kitchen in (first, state.kitchen)]
    assert last_ends[1] - last_ends[0] == timedelta(days=4)
    log.close()


def test_table_has_a_line_for_each_way_to_start() -> None:
    one = {"wall_s": 2.0, "cpu_s": 1.0, "seq": 9, "mb": 100.0}
    row = {
        "days": 364,
        "events": 9,
        "log_mb": 5.0,
        "kept_mb": 0.5,
        "alone": one,
        "log": {**one, "cpu_s": 7.0},
        "kept": one,
    }
    told = tables({"1 a": row})
    assert told.count("9 events of 364 days") == 2
    (line,) = [line for line in told.splitlines() if "from the log alone" in line]
    assert line.split("|")[-2].strip() == "7.000"
