"""kill -9 in the middle of a demo with acts coming in over HTTP: nothing acknowledged is lost, all goes on."""

import http.client
import json
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.events import AlarmRaised, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.state import State

KILLS = 3
_OPENS_WITHIN_S = 120.0


class Demo:
    """A demo in a process of its own, without crew: only the test acts."""

    def __init__(self, data: Path, speed: float) -> None:
        command = [sys.executable, "-m", "orchestrator.cli.main", "demo", "--no-history", "--no-crew", "--no-troubles"]
        command += ["--port", "0", "--speed", str(speed), "--data", str(data)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        self.output: list[str] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        self.url = self._url()

    def _read(self) -> None:
        assert self.process.stdout is not None
        self.output.extend(iter(self.process.stdout.readline, ""))

    def _url(self) -> str:
        limit = time.monotonic() + _OPENS_WITHIN_S
        while time.monotonic() < limit and self.process.poll() is None:
            for line in tuple(self.output):
                if found := re.search(r"http://[\d.:]+", line):
                    return found.group(0)
            time.sleep(0.05)
        raise AssertionError("the demo did not open:\n" + "".join(self.output))

    def get(self, path: str) -> Any:
        """Read a resource."""
        with urllib.request.urlopen(f"{self.url}/api/v1/{path}", timeout=15) as answer:
            return json.load(answer)

    def act(self, command: dict[str, Any]) -> int:
        """Send an act. Returns: the seq with which it was acknowledged."""
        body = json.dumps(command).encode()
        headers = {"Content-Type": "application/json"}
        request = urllib.request.Request(f"{self.url}/api/v1/commands", body, headers)
        with urllib.request.urlopen(request, timeout=15) as answer:
            return int(json.load(answer)["seq"])

    def kill(self) -> None:
        """kill -9."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(20)


def _acts(demo: Demo, task: str, run: int, acknowledged: dict[str, int], stop: threading.Event) -> None:
    """One problem report after the other, until the process is gone."""
    number = 0
    while not stop.is_set():
        number += 1
        name = f"kill-{run}-{number}"
        command = {"kind": "report_problem", "command_id": name, "person": "manager", "task": task, "what": "other"}
        try:
            acknowledged[name] = demo.act({**command, "text": name})
        except (urllib.error.URLError, http.client.HTTPException, OSError, ValueError):
            return


def _log(data: Path) -> list[Recorded]:
    log = SqlEventLog(data / "events.db", read_only=True)  # the demo has the pen
    try:
        return list(log.read())
    finally:
        log.close()


def _state(records: list[Recorded]) -> State:
    state = State()
    for record in records:
        state = evolve(state, record)
    return state


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "demo"


@pytest.mark.slow
def test_killed_demo_goes_on_where_it_was_and_keeps_all_that_it_acknowledged(data: Path) -> None:
    acknowledged: dict[str, int] = {}
    clock_before: datetime | None = None
    for run in range(KILLS):
        demo = Demo(data, speed=20)
        try:
            if clock_before is not None:
                _is_as_it_was(demo, data, acknowledged, clock_before)
            task = demo.get("plan")["tasks"][0]["id"]
            stop = threading.Event()
            sender = threading.Thread(target=_acts, args=(demo, task, run, acknowledged, stop))
            sender.start()
            before = len(acknowledged)
            _wait_until(lambda enough=before + 8: len(acknowledged) >= enough)
            clock_before = datetime.fromisoformat(demo.get("now")["now"])
        finally:
            demo.kill()
        stop.set()
        sender.join(20)
        on_record = {record.command_id: record.seq for record in _log(data)}
        assert {name: on_record.get(name) for name in acknowledged} == acknowledged
    _timers_are_armed(data)


def _is_as_it_was(demo: Demo, data: Path, acknowledged: dict[str, int], clock_before: datetime) -> None:
    records = _log(data)
    assert [record.seq for record in records] == list(range(1, len(records) + 1))
    state = _state(records)
    now = demo.get("now")
    assert datetime.fromisoformat(now["now"]) >= max(record.at for record in records)
    # Simulated time is kept about every real second, at 20 kitchen seconds each.
    assert (clock_before - datetime.fromisoformat(now["now"])).total_seconds() < 20 * 15
    assert demo.get("plan") == json.loads(state.plan.model_dump_json() if state.plan else "null")
    reported = {text for record in state.tasks.values() for text in record.problems}
    assert {name for name in acknowledged if not any(name in text for text in reported)} == set()
    repeat = next(iter(acknowledged))
    task = demo.get("plan")["tasks"][0]["id"]
    same = {"kind": "report_problem", "command_id": repeat, "person": "manager", "task": task, "what": "other"}
    assert demo.act(same) == acknowledged[repeat]


def _timers_are_armed(data: Path) -> None:
    """Nobody works, so after a restart the clock alone must bring the warning that something was not started.

    A busy machine finds a first plan that begins only a day later: hence the long wait.
    """
    known = len(_log(data))
    demo = Demo(data, speed=3600)
    try:
        _wait_until(lambda: any(isinstance(r.event, AlarmRaised) for r in _log(data)[known:]), seconds=240)
    finally:
        demo.kill()


def _wait_until(done: Any, seconds: float = 60.0) -> None:
    limit = time.monotonic() + seconds
    while not done():
        assert time.monotonic() < limit, "it did not come true in time"
        time.sleep(0.1)
