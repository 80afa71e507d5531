"""Times on the kitchen's clock, and shifts."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "kitchen.yaml",
        "Europe/London",
        "Europe/Londres",
        [("kitchen.yaml:2:1: 'Europe/Londres' is no time zone — write a name of the IANA list, like Europe/London")],
        id="zone",
    ),
    pytest.param(
        "orders.yaml",
        "2026-11-27T12:00",
        "2026-11-27T12:00+00:00",
        [
            (
                "orders.yaml:4:5: '2026-11-27T12:00+00:00' carries an offset — write the kitchen's local "
                "time, like 2026-11-27T12:00"
            )
        ],
        id="offset",
    ),
    pytest.param(
        "orders.yaml",
        "2026-11-27T12:00",
        "Friday noon",
        ["orders.yaml:4:5: 'Friday noon' is not a local date and time — write it like 2026-11-28T11:00"],
        id="nodate",
    ),
    pytest.param(
        "orders.yaml",
        "2026-11-27T12:00",
        "2026-02-30T12:00",
        [
            (
                "orders.yaml:4:5: '2026-02-30T12:00' is not a day and time of the calendar — write it like "
                "2026-11-28T11:00"
            )
        ],
        id="feb30",
    ),
    pytest.param(
        "stock.yaml",
        "made: 2026-11-24T15:00",
        "made: 2026-03-29T01:30",
        [
            (
                "stock.yaml:5:5: 2026-03-29 01:30 does not exist in Europe/London, the clocks go forward "
                "over it — choose another time"
            )
        ],
        id="gap",
    ),
    pytest.param(
        "stock.yaml",
        "made: 2026-11-24T15:00",
        "made: 2026-10-25T01:30",
        [
            (
                "stock.yaml:5:5: 2026-10-25 01:30 comes twice in Europe/London, the clocks go back then — "
                "choose a time outside that hour"
            )
        ],
        id="twice",
    ),
    pytest.param(
        "crew.yaml",
        'from: "09:00", to: "17:00"',
        'from: "17:00", to: "09:30"',
        ["crew.yaml:12:9: the shift from 17:00 to 09:30 lasts 16.5 h — swap the two times, or split it"],
        id="shift swapped",
    ),
    pytest.param(
        "crew.yaml",
        "10:00-10:30",
        "15:00-15:30",
        ["crew.yaml:6:9: the break 15:00-15:30 lies outside the shift — keep it between 06:00 and 14:00"],
        id="break outside",
    ),
    pytest.param(
        "crew.yaml",
        "10:00-10:30",
        "10 to 10:30",
        ["crew.yaml:6:65: '10 to 10:30' cannot be the break — write the break like \"10:00-10:30\""],
        id="break shape",
    ),
    pytest.param(
        "crew.yaml",
        'from: "09:00"',
        'from: "9am"',
        ["crew.yaml:12:28: '9am' cannot be the from — write the time in quotes, like \"06:30\""],
        id="shift clock",
    ),
    pytest.param(
        "crew.yaml",
        "2026-11-27",
        "2026-11-31",
        ["crew.yaml:12:9: '2026-11-31' is not a day of the calendar — write it like 2026-11-25"],
        id="shift day",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
