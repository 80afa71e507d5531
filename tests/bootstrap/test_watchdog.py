"""Somebody notices when the service stands: systemd over its socket, and the guard beside the loop."""

import asyncio
import os
import signal
import socket
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

from orchestrator.bootstrap.watchdog import STALLED, Systemd
from tests.bootstrap.test_serve import EXAMPLE, PROGRAM


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    """The service manager's end."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(str(tmp_path / "notify"))
        listening.settimeout(20)
        yield listening


async def test_ping_says_that_it_lives_in_time_and_falls_silent_with_a_reason(
    manager: socket.socket, tmp_path: Path
) -> None:
    systemd = Systemd({"NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": "300000"})
    assert systemd.watchdog_s == 0.3
    why = ""
    pinging = asyncio.create_task(systemd.ping(lambda: why))
    for _ in range(3):
        assert await asyncio.to_thread(manager.recv, 100) == b"WATCHDOG=1"
    why = "a commit has not ended for 11 s"
    async with asyncio.timeout(5):
        while (said := await asyncio.to_thread(manager.recv, 100)) == b"WATCHDOG=1":
            pass
    assert said == b"STATUS=a commit has not ended for 11 s"
    manager.settimeout(0.5)
    with pytest.raises(TimeoutError):
        await asyncio.to_thread(manager.recv, 100)
    pinging.cancel()
    await asyncio.gather(pinging, return_exceptions=True)


def test_watchdog_meant_for_another_process_is_not_ours() -> None:
    assert Systemd({"WATCHDOG_USEC": "300000", "WATCHDOG_PID": "1"}).watchdog_s == 0
    Systemd({}).tell("READY=1")  # without a manager, nothing


def test_serve_tells_the_manager_ready_alive_and_ending(manager: socket.socket, tmp_path: Path) -> None:
    (tmp_path / "program.py").write_text(PROGRAM)
    environment = {**os.environ, "PYTHONPATH": str(EXAMPLE.parent), "NOTIFY_SOCKET": str(tmp_path / "notify")}
    running = subprocess.Popen(
        [sys.executable, str(tmp_path / "program.py"), str(tmp_path / "data"), str(EXAMPLE)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**environment, "WATCHDOG_USEC": "1500000"},
        start_new_session=True,
    )
    said: list[str] = []
    try:
        while not (said and said[-1].startswith("READY=1")):
            said.append(manager.recv(200).decode())
        assert set(said[:-1]) <= {"WATCHDOG=1"}  # a start that takes long is no death
        assert said[-1].startswith("READY=1\nSTATUS=http://127.0.0.1:")
        assert manager.recv(200) == b"WATCHDOG=1"
        os.kill(running.pid, signal.SIGTERM)
        while (last := manager.recv(200).decode()) == "WATCHDOG=1":
            pass
        assert last == "STOPPING=1"
        assert running.wait(20) == 0
    finally:
        if running.poll() is None:
            os.killpg(running.pid, signal.SIGKILL)


def test_loop_that_stands_ends_the_process_and_says_where(tmp_path: Path) -> None:
    program = textwrap.dedent(
        """
        import asyncio, logging, time
        from orchestrator.bootstrap.watchdog import LoopGuard

        def stands():
            time.sleep(60)

        async def main():
            guard = asyncio.create_task(LoopGuard(2.0).run())
            await asyncio.sleep(3)  # a loop that runs is left alone
            print("ran", flush=True)
            stands()

        logging.basicConfig()
        asyncio.run(main())
        """
    )
    ended = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        timeout=40,
        env={**os.environ, "PYTHONPATH": str(EXAMPLE.parent)},
        check=False,
    )
    assert (ended.returncode, ended.stdout) == (STALLED, "ran\n")
    assert "the loop has stood for 2 s: this process ends so that it can be started again" in ended.stderr
    assert "in stands" in ended.stderr
