"""Hands for every attended portion."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "crew.yaml",
        "day: 2026-11-26",
        "day: 2026-11-25",
        [
            (
                "crew.yaml:5:5: 'cook' has two shifts at once on Wed 25 Nov 2026, 06:00 — let one shift "
                "end before the next begins"
            )
        ],
        id="shifts overlap",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "{ shortest: 8 min, usual: 10 min, longest: 15 min }",
        "{ shortest: 8 h, usual: 9 h, longest: 10 h }",
        [
            (
                "recipes/damson-sorbet.yaml:13:5: the attended work of 'mix' lasts 9 h, and nobody with "
                "the skill 'make' works so long without a break — the longest stretch is 8 h: split the "
                "step, or lengthen a shift"
            )
        ],
        id="attended long",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "minutes: 10 min",
        "minutes: 50 min",
        [
            (
                "recipes/damson-puree.yaml:15:5: 'simmer' is attended for 50 min, longer than its usual 40 "
                "min — shorten the portions, or write `when: throughout`"
            )
        ],
        id="portions",
    ),
    pytest.param(
        "equipment.yaml",
        "    floor: warm\n",
        "    floor: warm\n    speed: 5\n",
        [
            (
                "recipes/damson-puree.yaml:15:5: 'simmer' is attended for 10 min, longer than its usual 8 "
                "min on its fastest machine — shorten the portions, or write `when: throughout`"
            )
        ],
        id="portions on a fast machine",
    ),
    pytest.param(
        "equipment.yaml",
        "    floor: warm\n",
        "    floor: warm\n    speed: 0\n",
        ["equipment.yaml:7:5: 'speed', 0, is too little — write 0.1 or more"],
        id="no speed",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "[{ when: start, minutes: 10 min }]",
        "[{ when: start, minutes: 10 min }, { when: throughout }]",
        [
            (
                "recipes/damson-puree.yaml:15:5: the attended portions of 'simmer' overlap — give "
                "throughout alone, or start and end once each"
            )
        ],
        id="portion twice",
    ),
    pytest.param(
        "recipes/damson-sorbet.yaml",
        "    skill: make\n    takes",
        "    skill: make\n    hands: 2\n    takes",
        [
            (
                "recipes/damson-sorbet.yaml:15:5: 'mix' needs 2 people with the skill 'make', and there is "
                "1 — teach another the skill, or lower `hands`"
            )
        ],
        id="hands",
    ),
    pytest.param(
        "equipment.yaml",
        "full: 40 min",
        "full: 9 h",
        [
            (
                "equipment.yaml:24:5: a clean-down of 9 h fits into no shift — nobody with the skill "
                "'make' works longer than 8 h without a break"
            )
        ],
        id="cleaning long",
    ),
    pytest.param(
        "equipment.yaml",
        "{ minutes: 20 min, skill: serve }",
        "{ minutes: 20 h, skill: serve }",
        [
            (
                "equipment.yaml:26:5: a day-end clean of 20 h fits into no shift — nobody with the skill "
                "'serve' works longer than 8 h without a break"
            )
        ],
        id="day-end long",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
