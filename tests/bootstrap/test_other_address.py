"""Served at another address than 127.0.0.1: without a passphrase it refuses, with one it serves there and nowhere else.

No test may leave the loopback. Where 127.0.0.1 alone counts as this machine, 127.0.0.2 and ::1 stand for the kitchen's
network: everything but that one answer is the program's own.
"""

import asyncio
import urllib.error
import urllib.request
from datetime import UTC, datetime
from pathlib import Path

import pytest

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.bootstrap import Failure, Hooks, Settings, System, build
from orchestrator.bootstrap.show import DisplayOnly, Showing
from tests.bootstrap.test_readiness import get
from tests.bootstrap.test_system import EXAMPLE
from tests.fakes.access import PASSPHRASE
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.postgres import Postgres


def beyond(monkeypatch: pytest.MonkeyPatch) -> None:
    for room in ("system", "show"):
        monkeypatch.setattr(f"orchestrator.bootstrap.{room}.is_loopback", lambda host: host == "127.0.0.1")


def at(host: str, data: Path) -> System:
    settings = Settings(data=data, kitchen=EXAMPLE, broker="none", host=host)
    return build(settings, Hooks(planner=ScriptedPlanner(lambda request: None)))


def with_passphrase(where: Path | str) -> None:
    store = SqlAccessStore(where)
    store.set_passphrase(PASSPHRASE, datetime.now(UTC))
    store.close()


@pytest.mark.parametrize("host", ["127.0.0.2", "::1"])
async def test_another_address_is_refused_without_a_passphrase_and_served_with_one(
    host: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    beyond(monkeypatch)
    system = at(host, tmp_path)
    with pytest.raises(Failure, match=f"without a passphrase .* and {host} is beyond it"):
        await system.start()
    assert system.web is None, "nothing was bound"
    with_passphrase(tmp_path / "access.db")
    system = at(host, tmp_path)
    await system.start()
    try:
        assert system.web is not None
        assert system.url == f"http://{'[::1]' if ':' in host else host}:{system.web.port}"
        assert (await asyncio.to_thread(get, f"{system.url}/healthz"))[0] == 200
        assert (await asyncio.to_thread(get, f"{system.url}/api/v1/now"))[0] == 401, "and nobody unknown is let in"
        with pytest.raises(urllib.error.URLError):
            await asyncio.to_thread(urllib.request.urlopen, f"http://127.0.0.1:{system.web.port}/healthz", timeout=10)
    finally:
        await system.stop()


async def test_own_machine_needs_no_passphrase(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    beyond(monkeypatch)
    system = at("127.0.0.1", tmp_path)
    await system.start()
    try:
        assert (await asyncio.to_thread(get, f"{system.url}/api/v1/now"))[0] == 200
    finally:
        await system.stop()


async def test_display_processes_keep_the_same_rule(
    server: Postgres, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    beyond(monkeypatch)
    url = server.url()
    writer = build(
        Settings(data=tmp_path, database=url, kitchen=EXAMPLE, broker="none"),
        Hooks(planner=ScriptedPlanner(lambda request: None), web=False),
    )
    await writer.start()
    shows = Hooks(planner=ScriptedPlanner(lambda request: None))
    try:
        with pytest.raises(Failure, match="without a passphrase"):
            await DisplayOnly(Showing(url, host="127.0.0.2"), shows).start()
        with_passphrase(url)
        display = DisplayOnly(Showing(url, host="127.0.0.2"), shows)
        await display.start()
        try:
            assert display.web.url.startswith("http://127.0.0.2:")
            assert (await asyncio.to_thread(get, f"{display.web.url}/api/v1/now"))[0] == 401
        finally:
            await display.stop()
    finally:
        await writer.stop()
