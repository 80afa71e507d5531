"""The service as a process: it says where to look, answers, and ends cleanly when told to."""

import os
import re
import signal
import subprocess
import sys
import textwrap
import urllib.request
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "config"
PROGRAM = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from orchestrator.bootstrap import Settings, serve

    if __name__ == "__main__":
        sys.exit(serve(Settings(data=Path(sys.argv[1]), kitchen=Path(sys.argv[2]), planning_seconds=1)))
    """
)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_serve_says_where_answers_and_ends_cleanly(number: signal.Signals, tmp_path: Path) -> None:
    program = tmp_path / "program.py"
    program.write_text(PROGRAM)
    service = subprocess.Popen(
        [sys.executable, "-u", str(program), str(tmp_path / "data"), str(EXAMPLE)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(EXAMPLE.parent)},
        start_new_session=True,
    )
    assert service.stdout is not None
    try:
        said = service.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+", said)
        assert found, said
        with urllib.request.urlopen(f"{found.group()}/healthz", timeout=10) as answer:
            assert answer.status == 200
        os.killpg(service.pid, number)  # as a terminal does: to the whole group
        output, errors = service.communicate(timeout=15)
    finally:
        if service.poll() is None:
            os.killpg(service.pid, signal.SIGKILL)
    assert service.returncode == 0, errors
    assert "Traceback" not in errors, errors
    assert "ending" in output
