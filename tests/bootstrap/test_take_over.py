"""Two services on one PostgreSQL: the second stands by, and goes on where the first was killed."""

import json
import os
import re
import signal
import subprocess
import sys
import textwrap
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from orchestrator.adapters.sql_event_log import SqlEventLog
from tests.bootstrap.test_serve import EXAMPLE
from tests.fakes.postgres import Postgres

PROGRAM = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from orchestrator.bootstrap import Settings, serve

    if __name__ == "__main__":
        url, kitchen, *options = sys.argv[1:]
        settings = Settings(
            data=Path("unused"),
            database=url,
            standby="--standby" in options,
            kitchen=Path(kitchen),
            broker="none",
            planning_seconds=1,
        )
        sys.exit(serve(settings))
    """
)


@contextmanager
def service(url: str, folder: Path, *options: str) -> Iterator["subprocess.Popen[str]"]:
    """The example served from a database; killed when the block ends."""
    (folder / "program.py").write_text(PROGRAM)
    running = subprocess.Popen(
        [sys.executable, "-u", str(folder / "program.py"), url, str(EXAMPLE), *options],
        stdout=subprocess.PIPE,
        stderr=(folder / "errors").open("a"),
        text=True,
        env={**os.environ, "PYTHONPATH": str(EXAMPLE.parent)},
        start_new_session=True,
    )
    try:
        yield running
    finally:
        if running.poll() is None:
            os.killpg(running.pid, signal.SIGKILL)
        running.communicate(timeout=15)


def line(stream: IO[str] | None) -> str:
    assert stream is not None
    return stream.readline()


def address(running: "subprocess.Popen[str]", folder: Path) -> str:
    said = line(running.stdout)
    found = re.search(r"http://127\.0\.0\.1:\d+", said)
    assert found, said + (folder / "errors").read_text()
    return found.group()


def act(url: str, number: int) -> int:
    """Stop the churn or say that it is back, durably; returns the HTTP status."""
    command = {
        "kind": "stop_machine" if number % 2 else "machine_back",
        "command_id": f"act-{number}",
        "equipment": "churn",
        "person": "manager",
        **({"reason": "tried"} if number % 2 else {}),
    }
    request = urllib.request.Request(
        f"{url}/api/v1/commands", json.dumps(command).encode(), {"Content-Type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        return int(answer.status)


def test_writer_killed_standby_goes_on_and_every_acknowledged_act_is_there(server: Postgres, tmp_path: Path) -> None:
    url = server.url()
    with service(url, tmp_path) as first:
        screens = address(first, tmp_path)
        with service(url, tmp_path, "--standby") as second:
            assert line(second.stdout).startswith("standing by")
            for number in range(1, 5):
                assert act(screens, number) == 200
            os.killpg(first.pid, signal.SIGKILL)
            screens = address(second, tmp_path)
            assert act(screens, 5) == 200
    log = SqlEventLog(url, read_only=True)
    acts = [record.command_id for record in log.read() if record.command_id.startswith("act-")]
    assert list(dict.fromkeys(acts)) == [f"act-{number}" for number in range(1, 6)]
    assert log.verify()[1] is None
    log.close()
