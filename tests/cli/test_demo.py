"""The demo as a person runs it: says where to look, marks all it says, and ends cleanly on Ctrl-C at any time."""

import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

_OPENS_WITHIN_S = 240.0
_ENDS_WITHIN_S = 60.0


class Running:
    """A demo in a process group of its own, as a terminal gives it one."""

    def __init__(self, data: Path) -> None:
        command = [sys.executable, "-u", "-m", "orchestrator.cli.main", "demo", "--fresh", "--no-history"]
        command += ["--port", "0", "--data", str(data)]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
        )
        self.lines: list[str] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        self.lines.extend(line.rstrip("\n") for line in self.process.stdout)

    def wait_for(self, pattern: str) -> str:
        """What the pattern finds in what it said; all that it said where it ends before."""
        deadline = time.monotonic() + _OPENS_WITHIN_S
        while time.monotonic() < deadline and self.process.poll() is None:
            if found := re.search(pattern, "\n".join(self.lines)):
                return found.group()
            time.sleep(0.05)
        raise AssertionError(f"{pattern!r} was not said:\n" + "\n".join(self.lines))

    def ctrl_c(self) -> int:
        """As the terminal sends it, to the whole group. Returns: exit status."""
        os.killpg(self.process.pid, signal.SIGINT)
        status = self.process.wait(_ENDS_WITHIN_S)
        self._reader.join(10)
        return status


@contextmanager
def demo(data: Path) -> Iterator[Running]:
    running = Running(data)
    try:
        yield running
    finally:
        if running.process.poll() is None:
            os.killpg(running.process.pid, signal.SIGKILL)
            running.process.wait()


@pytest.mark.slow
def test_demo_says_where_to_look_marks_every_line_practice_and_ends_cleanly_on_ctrl_c(tmp_path: Path) -> None:
    with demo(tmp_path / "demo") as running:
        address = running.wait_for(r"http://127\.0\.0\.1:\d+")
        running.wait_for("Ctrl-C ends it")
        with urllib.request.urlopen(address, timeout=30) as answer:
            assert "PRACTICE" in answer.read().decode()
        assert running.ctrl_c() == 0
    said = [line for line in running.lines if line.strip()]
    assert said[-1] == "PRACTICE - ending; start it again to go on, or with --fresh to begin anew"
    assert [line for line in said if not line.startswith("PRACTICE")] == []


@pytest.mark.slow
def test_demo_that_is_ended_while_it_opens_ends_at_once_and_says_no_fault(tmp_path: Path) -> None:
    data = tmp_path / "demo"
    with demo(data) as running:
        deadline = time.monotonic() + _OPENS_WITHIN_S
        while not data.exists() and running.process.poll() is None and time.monotonic() < deadline:
            time.sleep(0.05)
        assert running.ctrl_c() == 0
    assert [line for line in running.lines if "Traceback" in line or "Error" in line] == []
    assert [line for line in running.lines if "http://" in line] == []
