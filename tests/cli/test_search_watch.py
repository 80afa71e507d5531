"""A plan in a terminal: progress on stderr, and Ctrl-C on a real child process."""

import json
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PLAN = [sys.executable, "-c", "from orchestrator.cli.main import main; main()", "plan", "--seconds", "120"]


@contextmanager
def child(*more: str, stderr: int = subprocess.PIPE) -> Iterator[subprocess.Popen[str]]:
    """``coldwright plan`` of the example for two minutes, unless somebody ends it."""
    wide = {**os.environ, "COLUMNS": "200"}  # a narrow terminal breaks what is looked for into lines
    process = subprocess.Popen([*PLAN, *more], stdout=subprocess.PIPE, stderr=stderr, text=True, env=wide)
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def test_ctrl_c_prints_the_best_plan_so_far_and_says_that_it_was_cut_short() -> None:
    with child("--progress", "--json") as process:
        assert process.stderr is not None
        first = process.stderr.readline()
        process.send_signal(signal.SIGINT)
        printed, told = process.communicate(timeout=300)
    assert re.match(r"\d+\.\d s: .*(on time|late|not met|broken)", first)
    assert process.returncode == 0
    assert "Traceback" not in told
    assert told.splitlines()[-1].startswith("The search was cut short after ")
    plan = json.loads(printed)
    assert plan["tasks"]
    assert plan["seconds"] < 120


def test_stderr_that_is_no_terminal_is_told_nothing_unless_asked() -> None:
    with child("--seconds", "0") as process:
        printed, told = process.communicate(timeout=300)
    assert (process.returncode, told) == (0, "")
    assert "Friday 27 November" in printed
    assert "SAT-STALL" in printed


def test_a_terminal_shows_what_is_found_and_ctrl_c_ends_it() -> None:
    screen, inside = pty.openpty()
    with child(stderr=inside) as process:
        os.close(inside)
        seen = ""
        while "Ctrl-C takes it" not in seen:
            seen += os.read(screen, 4096).decode(errors="replace")
        process.send_signal(signal.SIGINT)
        while "cut short" not in seen:
            seen += os.read(screen, 4096).decode(errors="replace")
        printed, _ = process.communicate(timeout=300)
    os.close(screen)
    assert process.returncode == 0
    assert "Friday 27 November" in printed
    assert "SAT-STALL" in printed


SCENARIOS = """\
scenarios:
  - name: without the party
    changes: [{ change: drop order, order: SAT-PARTY }]
  - name: cafe at noon
    changes: [{ change: change order, order: SAT-CAFE, due: 2026-11-28T12:00 }]
"""


def test_ctrl_c_while_scenarios_are_planned_compares_all_of_them_by_what_there_is(tmp_path: Path) -> None:
    file = tmp_path / "tried.yaml"
    file.write_text(SCENARIOS, encoding="utf-8")
    with child("--progress", "--json", "--what-if", str(file)) as process:
        assert process.stderr is not None
        first = process.stderr.readline()
        process.send_signal(signal.SIGINT)
        printed, told = process.communicate(timeout=300)
    assert re.match(r"\d+\.\d s: present plan: .*(on time|late|not met|broken)", first)
    assert (process.returncode, "Traceback" in told) == (0, False)
    assert re.match(
        r"The search was cut short after .* quick ones for what it had not come to\.", told.splitlines()[-1]
    )
    answer = json.loads(printed)
    assert answer["base"]["complete"] is False
    assert [(o["name"], o["complete"], bool(o["plan"])) for o in answer["scenarios"]] == [
        ("without the party", False, True),
        ("cafe at noon", False, True),
    ]


def late_kitchen(folder: Path) -> Path:
    """The example kitchen with an order that is due two days too soon."""
    copy = folder / "kitchen"
    shutil.copytree(Path(__file__).parents[2] / "config", copy)
    orders = copy / "orders.yaml"
    text = orders.read_text(encoding="utf-8")
    assert "2026-11-28T11:00" in text
    orders.write_text(text.replace("2026-11-28T11:00", "2026-11-26T13:00", 1), encoding="utf-8")
    return copy


def test_what_helps_names_the_conflict_and_remedies_and_tells_how_far_it_is(tmp_path: Path) -> None:
    with child(str(late_kitchen(tmp_path)), "--what-helps", "--progress", "--seconds", "8") as process:
        printed, told = process.communicate(timeout=300)
    assert process.returncode == 0, told
    assert re.search(r"SAT-STALL: \d+ plans tried, \d+ things? may be in the way", told)
    assert "SAT-STALL cannot be ready by Thu 26 Nov 13:00: Basil comes Thu 26 Nov 07:00" in printed
    assert "no fewer things could be in the way" in printed
    assert "later hand-over: SAT-STALL: due Thu 26 Nov" in printed


def test_ctrl_c_while_what_helps_is_looked_for_prints_what_was_found(tmp_path: Path) -> None:
    with child(str(late_kitchen(tmp_path)), "--what-helps", "--progress", "--seconds", "20", "--json") as process:
        assert process.stderr is not None
        while "plans tried" not in process.stderr.readline():
            assert process.poll() is None
        process.send_signal(signal.SIGINT)
        printed, told = process.communicate(timeout=300)
    assert (process.returncode, "Traceback" in told) == (0, False)
    assert "this is what it had found by then" in told
    answer = json.loads(printed)
    assert [conflict["order"] for conflict in answer["conflicts"]] == ["SAT-STALL"]
    assert answer["complete"] is False


def test_what_helps_without_time_says_what_is_missing() -> None:
    with child("--what-helps", "--seconds", "0") as process:
        printed, told = process.communicate(timeout=300)
    assert (process.returncode, printed) == (2, "")
    assert told.strip() == "What helps needs time to look for: give --seconds."
