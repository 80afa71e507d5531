"""Tables of the benches from made-up figures: ratios, goals and what was not measured, worked out by hand."""

from dataclasses import astuple

from orchestrator.planner.score import WEIGHTS, Score, scalar
from tests.benchmarks import goals, job_shops, mutations, processes, replans
from tests.benchmarks.curves import PLANNER
from tests.benchmarks.markdown import number, table
from tests.benchmarks.plain import FORMS
from tests.benchmarks.quality_tables import runs, tables


def value(**parts: int) -> list[int]:
    return list(astuple(Score(**{**dict.fromkeys(WEIGHTS.__slots__, 0), **parts})))


def figures(
    batches: int, seed: int, method: str, points: list[list[object]], seconds: float = 60.0
) -> dict[str, object]:
    return {
        "batches": batches, "seed": seed, "method": method, "seconds": seconds, "tasks": 8 * batches,
        "tightness": "tight", "points": points, "peak_mb": 100.0 + seed, "proven": False, "died": False,
    }  # fmt: skip


LATE, LESS, ON_TIME = value(late=99), value(late=9), value(crew=99)
"""Worth 990,000,001, 90,000,001 and 100."""
FOUND = {
    "planner": figures(20, 0, PLANNER, [[0.1, LATE], [3.0, ON_TIME]]),
    "steep": figures(20, 0, "steep", [[8.0, LATE]], 20.0),
    "mild": figures(20, 0, "mild", [[9.0, LESS]], 20.0),
    "late": figures(20, 0, "late", [], 20.0),
    "second": figures(20, 1, PLANNER, [[0.3, LATE]]),
    "large": figures(150, 0, PLANNER, [[0.9, LATE], [50.0, LESS]]),
}


def cells(text: str, first: str) -> list[list[str]]:
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    return [row for row in rows if row[0] == first]


def test_plain_is_the_best_of_its_forms_at_each_mark_and_where_it_has_nothing_the_ratio_is_0():
    run = runs(FOUND)[20][0]

    assert (run.plain_quality(8.5), run.plain_quality(20)) == (scalar(Score(*LATE)), scalar(Score(*LESS)))
    assert (run.against_plain(5), run.against_plain(20)) == (0, 100 / 90_000_001)
    assert run.against_plain(60) != run.against_plain(60)  # plain did not run so long: not a number
    assert run.against_first(60) == 100 / 990_000_001


def test_tables_show_every_size_and_leave_open_what_was_not_measured():
    text = tables(FOUND)

    against, first, planted, forms, growth = cells(text, "20")
    assert against == ["20", "1", "0.000", "0.000", "1e-06", "–", "1e-06", "0 of 1", "3.000", "3.000"]
    assert first == ["20", "160", "2", "200", "1.000", "0.500", "0.500", "0.500", "0 of 2"]
    assert planted == ["20", "1 of 2", "1 of 2", "1 of 2", "1", "tight"]
    assert forms[1:4] == ["1 of 1, 0", "1 of 1, 1", "0 of 1, 0"]
    assert growth == ["20", "160", "200", "101", "100"]
    assert len(cells(text, "150")) == 3  # no table of plain models, which have not planned it
    assert set(FORMS) == {"steep", "mild", "late"}


def test_goals_are_reached_missed_or_not_measured():
    verdicts = {row[0]: row[1:] for row in cells_of(goals.goals(FOUND))}

    assert verdicts["20 batches: ÷ plain after 20 s, worst kitchen: ≤ 1.02"] == ["1e-06", "1", "yes"]
    assert verdicts["20 batches: seconds to plain's 20 s quality, slowest kitchen: ≤ 4"] == ["3.000", "1", "yes"]
    assert verdicts["20 batches: planted, share not on time in 5 s: ≤ 0.1"] == ["0.500", "2", "no"]
    assert verdicts["150 batches: ÷ first plan after 60 s, median: ≤ 0.25"] == ["0.091", "1", "yes"]
    assert verdicts["400 batches: ÷ first plan after 60 s, median: ≤ 0.08"] == ["–", "0", "not measured"]


def cells_of(text: str) -> list[list[str]]:
    return [
        [cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("| ")
    ]


def test_other_parts_make_their_tables_of_what_they_write_down():
    again = {
        "kitchen": "example", "repair_s": [[0.1, 0.05], [0.3, 0.25]], "stopped_s": [[0.2, 0.1], [0.2, 0.1]],
        "again": [[0.1, 0.2, 0.4, 0.9], [0.3, 0.4, 0.6, 1.1]],
    }  # fmt: skip
    repair, stopped = "200 / 290 / 300 (150 / 240 / 250)", "200 / 200 / 200 (100 / 100 / 100)"
    assert cells(replans.tables({"a": again}), "example") == [
        ["example", "2", repair, stopped, "2", "20%", "30%", "50%", "1.000"]
    ]
    stalls = {"late_worst_ms": 7.25, "held_worst_ms": 3.0, "beats": 50, "over": 1, "held_over": 0}
    running = {
        "kind": "running", "name": "example, orders 1×", "batches": 9, "tasks": 101, "beats": 50, "held_p99_ms": 1.0,
        "held_worst_ms": 4.0, "late_worst_ms": 9.0, "idle_late_worst_ms": 2.0,
    }  # fmt: skip
    text = processes.tables({"a": {"kind": "asking", "name": "idle", **stalls}, "b": running})
    assert cells(text, "idle") == [["idle", "7.2", "3.0", "1 of 50", "0", "–", "–", "–"]]
    assert cells(text, "example, orders 1×") == [["example, orders 1×", "9", "101", "9.0", "4.0", "1.0", "2.0"]]
    shop = {"name": "ft06", "tasks": 36, "optimum": 55, "best": 55, "bound": None, "status": "feasible", "seconds": 1.0}
    assert cells(job_shops.tables({"a": shop}), "ft06") == [["ft06", "36", "55", "55", "–", "feasible", "1.0"]]
    share = {"tried": {"moved": 5}, "caught": {"moved": 4}, "sound": {"moved": 1}, "escaped": []}
    text = mutations.tables({"a": share, "b": {**share, "escaped": ["moved: by a minute"]}})
    assert cells(text, "in all") == [["in all", "10", "8", "2"]]
    assert "escaped: 1" in text
    assert "ESCAPED moved: by a minute" in text


def test_tables_line_up_and_numbers_keep_three_figures():
    lines = table(["batches", "s"], [["1", "0.5"], ["a long one", "12"]]).splitlines()

    assert lines == ["| batches    |   s |", "|------------|----:|", "| 1          | 0.5 |", "| a long one |  12 |"]
    assert [number(v) for v in (0, 0.5, 12.345, 1234.5, 3e-7, 2e9, None, float("inf"))] == [
        "0.000", "0.500", "12.3", "1234", "3e-07", "2e+09", "–", "–",
    ]  # fmt: skip
