"""The table of a task's life, and its drawing."""

from pathlib import Path

import pytest

from orchestrator.core.state import TaskStatus
from orchestrator.core.task_lifecycle import LIFE, TaskAct, after, allowed, drawing


def test_life_has_a_row_for_every_status() -> None:
    assert set(LIFE) == set(TaskStatus)


def test_life_uses_every_act() -> None:
    assert {act for acts in LIFE.values() for act in acts} == set(TaskAct)


@pytest.mark.parametrize(
    ("status", "acts"),
    [
        (TaskStatus.WAITING, {"start", "skip", "report a problem", "enter a temperature"}),
        (
            TaskStatus.IN_HAND,
            {"finish", "finish a tray", "needs longer", "report a problem", "enter a temperature"},
        ),
        (TaskStatus.DONE, {"report a problem"}),
        (TaskStatus.SKIPPED, set()),
    ],
)
def test_life_allows_these_acts_only(status: TaskStatus, acts: set[str]) -> None:
    assert {act.value for act in allowed(status)} == acts


def test_life_only_moves_forward() -> None:
    rank = {TaskStatus.WAITING: 0, TaskStatus.IN_HAND: 1, TaskStatus.DONE: 2, TaskStatus.SKIPPED: 2}
    assert all(rank[to] >= rank[status] for status, acts in LIFE.items() for to in acts.values())
    assert after(TaskStatus.DONE, TaskAct.START) is None


def test_drawing_shows_every_act_of_the_table() -> None:
    lines = drawing().splitlines()
    assert lines[:3] == ["stateDiagram-v2", "    [*] --> waiting", "    waiting --> in_hand: start"]
    assert sum(": " in line for line in lines) == sum(len(acts) for acts in LIFE.values())


def test_drawing_for_developers_is_up_to_date() -> None:
    written = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"```mermaid\n{drawing()}```" in written, "put task_lifecycle.drawing() into DEVELOPERS.md anew"
