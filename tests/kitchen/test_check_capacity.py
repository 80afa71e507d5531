"""Batches that fit their machines."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "recipes/damson-puree.yaml",
        "most: 4 L",
        "most: 6 L",
        [
            (
                "recipes/damson-puree.yaml:6:22: a batch of 6 L loads 10 L at 'simmer', more than the 8 L "
                "of the hob — lower most to 4.8 L"
            )
        ],
        id="capacity most",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "least: 2 L, most: 6 L",
        "least: 0.5 L, most: 6 L",
        [
            (
                "recipes/damson-sorbet.yaml:6:10: a batch of 0.5 L loads 0.56 L at 'churn', less than the "
                "1 L that the churn needs — raise least to 1.05 L"
            )
        ],
        id="churn least",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "least: 2 L, most: 6 L",
        "least: 0.5 L, most: 0.9 L",
        [
            (
                "recipes/damson-sorbet.yaml:6:24: no batch ever loads the 1 L that the churn needs at "
                "'churn' — the most of a batch loads 0.88 L: make batches larger, or use a smaller machine"
            )
        ],
        id="churn never",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
