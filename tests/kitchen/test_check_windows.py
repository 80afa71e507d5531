"""Windows that can be reached."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "least: 5 min, most: 30 min",
        "least: 45 min, most: 30 min",
        [
            (
                "recipes/damson-sorbet.yaml:25:26: the window of 'churn' after 'mix' opens after 45 min "
                "and closes after 30 min — make least no more than most"
            )
        ],
        id="link order",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "least: 4 h, most: 5 d",
        "least: 6 d, most: 5 d",
        [
            (
                "orders.yaml:6:11: 'damson-sorbet' takes at least 6 d 1 h 16 min to make, longer than "
                "there is until due — the soonest is Tue 01 Dec 2026 07:16: move due, or plan from an "
                "earlier start"
            ),
            (
                "recipes/damson-puree.yaml:24:13: the stay 'keep' lasts at least 6 d and at most 5 d — "
                "make least no more than most"
            ),
        ],
        id="stay order",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "least: 4 h, most: 5 d",
        "least: 6 d, most: 7 d",
        [
            (
                "orders.yaml:6:11: 'damson-sorbet' takes at least 6 d 1 h 16 min to make, longer than "
                "there is until due — the soonest is Tue 01 Dec 2026 07:16: move due, or plan from an "
                "earlier start"
            ),
            (
                "recipes/damson-puree.yaml:24:13: the stay 'keep' lasts at least 6 d, longer than the "
                "shelf life — make least no more than 5 d"
            ),
        ],
        id="stay shelf",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says


def test_window_shorter_than_a_detour_is_told_with_the_way(tmp_path: Path) -> None:
    write_small(tmp_path)
    sorbet = "recipes/damson-sorbet.yaml"
    soak = "  - id: soak\n    process: mix\n    title: Soak\n    station: bench\n"
    soak += "    duration: { shortest: 40 min, usual: 50 min, longest: 60 min }\n"
    change(tmp_path, sorbet, "  - id: churn", soak + "  - id: churn")
    change(
        tmp_path, sorbet, "[{ step: mix, least: 5 min, most: 30 min }]", "[{ step: mix, most: 30 min }, { step: soak }]"
    )
    assert faults(tmp_path) == [
        "recipes/damson-sorbet.yaml:30:26: 'churn' must follow 'mix' within 30 min, but mix → soak → churn takes"
        " at least 40 min — allow at least 40 min, or take a step out between them"
    ]
