"""What is answered before Flask keeps the same door: streams, changes, metrics."""

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from display import streams
from display.app import Display, create_app
from orchestrator.ports.access import Role
from tests.fakes.access import Door
from tests.fakes.gateway import FakeGateway

PATHS = ["/streams", "/api/v1/changes"]


@pytest.fixture
def door(tmp_path: Path) -> Iterator[Door]:
    made = Door(tmp_path)
    yield made
    made.store.close()


@pytest.fixture
def app(door: Door) -> Iterator[Display]:
    gateway = FakeGateway(practice=False)
    made = create_app(gateway, gateway, door.guard)
    yield made
    made.hub.close()


async def asked(app: Display, path: str, seconds: float = 5.0, **cookies: str) -> tuple[int, bool]:
    """Ask for a stream. Returns: its status, and whether the server ended it within so long from then on."""
    told: list[int] = []
    begun = asyncio.Event()
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items()).encode()
    scope: dict[str, Any] = {"type": "http", "method": "GET", "path": path, "query_string": b"panels=clock"}
    scope |= {"headers": [(b"cookie", cookie), (b"host", b"localhost")], "client": ("192.0.2.7", 50000)}

    async def receive() -> dict[str, Any]:
        await asyncio.Event().wait()
        raise AssertionError

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            told.append(message["status"])
            begun.set()

    answering = asyncio.ensure_future(app(scope, receive, send))  # type: ignore[arg-type]
    await asyncio.wait_for(begun.wait(), 60)
    done, _ = await asyncio.wait((answering,), timeout=seconds)
    answering.cancel()
    await asyncio.gather(answering, return_exceptions=True)
    return told[0], bool(done)


@pytest.mark.parametrize("path", PATHS)
async def test_stream_is_for_whoever_may_look(path: str, app: Display, door: Door) -> None:
    assert await asked(app, path) == (401, True)
    assert await asked(app, path, screen="made-up") == (401, True)
    assert door.reasons() == ["bad token"], "a browser without any secret is no trespasser"
    for cookies in ({"screen": door.paired(Role.VIEWER)}, {"manager": door.signed_in()}):
        assert await asked(app, path, 1.0, **cookies) == (200, False)


async def test_stream_of_a_screen_that_is_revoked_ends(
    app: Display, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(streams, "LOOKED_AT_EVERY_S", 0.2)
    app._streams._heartbeat_s = 0.1
    secret = door.paired(Role.STATION)
    following = asyncio.create_task(asked(app, "/streams", 20.0, screen=secret))
    await asyncio.sleep(1.0)
    assert not following.done()
    door.store.revoke(door.store.screens()[0].id, door.now())
    door.seconds += 3  # nobody is known for longer than two seconds without a look
    assert await following == (200, True)
