"""How long a kitchen is without a writer: the one that writes is killed, and a standby's first act is waited for.

``python -m tests.benchmarks.take_over --count 5``: PostgreSQL, the example kitchen, both services on this machine.
"""

import argparse
import os
import signal
import statistics
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

from orchestrator.adapters.sql_event_log import SqlEventLog
from tests.benchmarks.markdown import table
from tests.bootstrap.test_take_over import act, address, line, service
from tests.fakes.postgres import postgres

WARM_S = 15.0
"""A standby stands by for months: what it loads beforehand is loaded."""


def once(url: str, folder: Path, acts: int) -> tuple[float, float, int]:
    """Returns: seconds from the kill to the standby's screens, and to its first act on disk; acts that were lost."""
    with ExitStack() as ends:
        first = ends.enter_context(service(url, folder))
        screens = address(first, folder)
        second = ends.enter_context(service(url, folder, "--standby"))
        assert line(second.stdout).startswith("standing by")
        time.sleep(WARM_S)
        for number in range(1, acts + 1):
            assert act(screens, number) == 200
        os.killpg(first.pid, signal.SIGKILL)
        killed = time.monotonic()
        screens = address(second, folder)
        seen_s = time.monotonic() - killed
        assert act(screens, acts + 1) == 200
        written_s = time.monotonic() - killed
    log = SqlEventLog(url, read_only=True)
    found = {record.command_id for record in log.read()}
    broken = log.verify()[1]
    log.close()
    assert broken is None
    return seen_s, written_s, sum(f"act-{number}" not in found for number in range(1, acts + 2))


def main() -> None:
    """Measure, and print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=3)
    parser.add_argument("--acts", type=int, default=20)
    told = parser.parse_args()
    with postgres() as server, tempfile.TemporaryDirectory() as folder:
        found = [once(server.url(), Path(folder), told.acts) for _ in range(told.count)]
    rows = [
        [name, f"{statistics.median(values):.1f}", f"{max(values):.1f}"]
        for name, values in (("screens answer", [f[0] for f in found]), ("first act on disk", [f[1] for f in found]))
    ]
    print(table(["from kill -9 of the writer, s", "median", "longest"], rows))
    print(f"\n{told.count} kills, {sum(f[2] for f in found)} acknowledged acts lost.")


if __name__ == "__main__":
    main()
