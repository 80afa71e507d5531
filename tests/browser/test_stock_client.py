"""A thermometer of the trade: Debian's own MQTT client publishes a reading, and a browser shows it.

Once through the embedded broker, once through a Mosquitto that this test starts for itself.
"""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.fakes.mosquitto import running
from tests.fakes.ports import free_port

ROOT = Path(__file__).parents[2]
NEEDED = "apt-get install -y mosquitto mosquitto-clients"

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def _await_port(port: int, process: subprocess.Popen[bytes], seconds: float = 20) -> None:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        assert process.poll() is None, f"it ended with {process.returncode}"
        with socket.socket() as probe:
            probe.settimeout(0.2)
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    pytest.fail(f"nothing listens on port {port} after {seconds} s")


@pytest.fixture
def mosquitto(tmp_path: Path) -> Iterator[str]:
    """A private Mosquitto on a free loopback port."""
    port = free_port()
    settings = tmp_path / "mosquitto.conf"
    settings.write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\n")
    with running(settings, port):
        yield f"mqtt://127.0.0.1:{port}"


@pytest.fixture
def broker(request: pytest.FixtureRequest) -> str:
    """``embedded``, or the address of an external one."""
    return str(request.getfixturevalue("mosquitto")) if request.param == "mosquitto" else "embedded"


@pytest.fixture
def kitchen(broker: str, tmp_path: Path) -> Iterator[tuple[str, int]]:
    """A served kitchen, in real time: address of its screens, port of its broker."""
    port, output = free_port(), tmp_path / "output.txt"
    with output.open("wb") as sink:
        process = subprocess.Popen(
            [sys.executable, "-m", "orchestrator.cli.main", "serve", "config", "--data", str(tmp_path / "data"),
             "--port", str(port), "--broker", broker],
            cwd=ROOT, stdout=sink, stderr=sink, env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )  # fmt: skip
    try:
        _await_port(port, process, 60)
        found = re.search(r"mqtt://127\.0\.0\.1:(\d+)", output.read_text() if broker == "embedded" else broker)
        assert found is not None, output.read_text()
        yield f"http://127.0.0.1:{port}", int(found.group(1))
    finally:
        process.send_signal(signal.SIGINT)
        assert process.wait(30) == 0, output.read_text()


@pytest.mark.parametrize("broker", ["embedded", "mosquitto"], indirect=True)
def test_reading_of_a_stock_client_appears_in_a_browser_without_reloading(
    kitchen: tuple[str, int], browser: Browser
) -> None:
    url, broker_port = kitchen
    publish = shutil.which("mosquitto_pub")
    if publish is None:
        pytest.fail(f"mosquitto_pub is missing. As root: {NEEDED}", pytrace=False)
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(url + "/probes")  # a station's cold places give way to alarms, which the day of the week decides
    shown = page.get_by_role("main")
    expect(shown).to_contain_text("fridge-air")
    expect(shown).not_to_contain_text("3.7")
    topic = "coldwright/v1/probes/fridge-air/reading"
    subprocess.run(
        [publish, "-h", "127.0.0.1", "-p", str(broker_port), "-q", "1", "-t", topic, "-m", "3.7"], check=True
    )
    expect(shown).to_contain_text("3.7 °C", timeout=45_000)
    context.close()
