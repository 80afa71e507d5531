"""What a file may look like before anybody asks what it says."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

CASES = [
    pytest.param(
        "kitchen.yaml",
        "name: Small kitchen",
        "name: Small: kitchen",
        [
            (
                "kitchen.yaml:1:12: not valid YAML: mapping values are not allowed here — put text with a "
                "colon into quotes, and check the indentation"
            )
        ],
        id="colon in text",
    ),
    pytest.param(
        "kitchen.yaml",
        "  - { id: bench",
        "\t- { id: bench",
        [
            (
                "kitchen.yaml:6:1: not valid YAML: while scanning for the next token found character '\\t' "
                "that cannot start any token — indent with spaces, never with tabs"
            )
        ],
        id="tab as indent",
    ),
    pytest.param(
        "recipes/damson-puree.yaml",
        "code: M",
        "code: M\nname: Puree again",
        ["recipes/damson-puree.yaml:4:1: 'name' is written twice, first on line 2 — keep one of the two"],
        id="key twice",
    ),
    pytest.param(
        "kitchen.yaml",
        "name: Small kitchen",
        "---\nname: a\n---\nname: Small kitchen",
        [
            "kitchen.yaml:2:1: 'planning_start' is missing — add `planning_start: 2026-11-25T06:00`",
            "kitchen.yaml:2:1: 'stations' is missing — add `stations: ...`",
            "kitchen.yaml:2:1: 'time_zone' is missing — add `time_zone: Europe/London`",
            "kitchen.yaml:4:1: a second document begins here — keep one document a file",
        ],
        id="second document",
    ),
    pytest.param(
        "crew.yaml",
        "skills: [make]",
        "skills: &a [*a]",
        [
            ("crew.yaml:4:13: 'skills' is not text but nothing — write words, in quotes if they look like a number"),
            "crew.yaml:4:13: an alias contains itself — write the part out",
        ],
        id="alias of itself",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "says"), CASES)
def test_kitchen_with_one_slip_tells_it_with_file_and_line(
    tmp_path: Path, file: str, old: str, new: str, says: list[str]
) -> None:
    change(write_small(tmp_path), file, old, new)
    assert faults(tmp_path) == says
