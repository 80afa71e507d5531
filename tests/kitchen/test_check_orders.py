"""Orders that can be."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "orders.yaml",
        "2026-11-27T12:00",
        "2026-11-24T12:00",
        [
            (
                "orders.yaml:4:5: due Tue 24 Nov 2026 12:00, before planning starts at Wed 25 Nov 2026 "
                "06:00 — move due, or planning_start in kitchen.yaml"
            )
        ],
        id="due past",
    ),
    pytest.param(
        "orders.yaml",
        "2026-11-27T12:00",
        "2026-11-30T12:00",
        [
            (
                "orders.yaml:4:5: due Mon 30 Nov 2026 12:00, after the last planned minute, Sat 28 Nov "
                "2026 06:00 — take the order out for now, or raise horizon_days in kitchen.yaml"
            )
        ],
        id="due after",
    ),
    pytest.param(
        "orders.yaml",
        "2026-11-27T12:00",
        "2026-11-25T06:05",
        [
            (
                "orders.yaml:6:11: 'damson-sorbet' takes at least 5 h 16 min to make, longer than there is "
                "until due — the soonest is Wed 25 Nov 2026 11:16: move due, or plan from an earlier start"
            )
        ],
        id="due soon",
    ),
    pytest.param(
        "orders.yaml",
        "    due: 2026-11-27T12:00",
        "    due: 2026-11-27T12:00\n    earliest: 2026-11-27T13:00",
        ["orders.yaml:5:5: earliest lies after due — make earliest no later than due"],
        id="earliest",
    ),
    pytest.param(
        "stock.yaml",
        "made: 2026-11-24T15:00",
        "made: 2026-11-26T15:00",
        [
            (
                "stock.yaml:5:5: made Thu 26 Nov 2026 15:00, after planning starts at Wed 25 Nov 2026 "
                "06:00 — what is not made yet is no stock: take it out, or correct the time"
            )
        ],
        id="made later",
    ),
    pytest.param(
        "stock.yaml",
        "use_by: 2026-12-24T15:00",
        "use_by: 2026-11-24T18:00",
        [
            (
                "stock.yaml:6:5: to be used by Tue 24 Nov 2026 18:00, before planning starts at Wed 25 Nov "
                "2026 06:00 — take the lot out of the stock: it may not be planned with"
            )
        ],
        id="use by past",
    ),
    pytest.param(
        "stock.yaml",
        "use_by: 2026-12-24T15:00",
        "use_by: 2026-11-23T15:00",
        ["stock.yaml:6:5: the lot must be used before it was made — make use_by later than made"],
        id="use by before",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
