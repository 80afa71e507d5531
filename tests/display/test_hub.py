"""The hub and its streams: bounded, latest first, cut when blocked, closed cleanly."""

import asyncio
import json
import zlib
from collections.abc import AsyncIterator, Iterable, Mapping

import pytest

from display import panels
from display.hub import Changes, Hub, Stream, Wanted
from display.pieces import Piece
from display.reader import Reader
from display.streams import MOST_PANELS, Message, Streams, _takes_gzip

READER = Reader()
PANELS = ("station-hand:stove", "station-sill:stove")


class Screen:
    """What the hub renders: a text that a test changes, counted each time."""

    def __init__(self) -> None:
        self.text = "one"
        self.seq = 1
        self.rendered: list[Wanted] = []
        self.fails = False

    def render_all(self, wanted: Iterable[Wanted]) -> tuple[Mapping[Wanted, str], dict[str, object]]:
        if self.fails:
            raise RuntimeError("planted")
        asked = sorted(wanted, key=repr)
        self.rendered += asked
        return {key: f"{key[1]} {self.text}" for key in asked}, {"now": 0, "version": 7, "seq": self.seq}


@pytest.fixture
def screen() -> Screen:
    return Screen()


@pytest.fixture
async def hub(screen: Screen, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Hub]:
    monkeypatch.setattr("display.hub.LEAST_INTERVAL_S", 0.01)
    hub = Hub(screen.render_all, lambda: 0)
    yield hub
    hub.close()


def text_of(pieces: Iterable[Piece]) -> str:
    return "".join(piece.text for piece in pieces)


def events(told: str | Iterable[Piece]) -> list[tuple[str, dict[str, object]]]:
    """The events of a piece of a stream."""
    found = []
    text = told if isinstance(told, str) else text_of(told)
    for block in text.split("\n\n"):
        lines = dict(line.split(": ", 1) for line in block.splitlines() if line and not line.startswith(":"))
        if "data" in lines:
            found.append((lines["event"], json.loads(lines["data"])))
    return found


async def test_stream_is_sent_its_present_state_first(hub: Hub) -> None:
    stream = hub.open(Stream(READER, PANELS))
    sent = events(await stream.take(2))
    assert [data["panel"] for kind, data in sent if kind == "panel"] == list(PANELS)
    assert [kind for kind, _ in sent].count("clock") == 1


async def test_panel_is_rendered_once_for_all_streams_of_a_kind(hub: Hub, screen: Screen) -> None:
    streams = [hub.open(Stream(READER, PANELS[:1])) for _ in range(5)]
    for stream in streams:
        await stream.take(2)
    assert screen.rendered == [(READER, PANELS[0])]


async def test_screen_that_opens_shows_what_others_show_without_rendering_it_anew(hub: Hub, screen: Screen) -> None:
    first = hub.open(Stream(READER, PANELS[:1]))
    await first.take(2)
    second = hub.open(Stream(READER, PANELS))
    sent = [data["panel"] for kind, data in events(await second.take(2)) if kind == "panel"]
    assert sent == list(PANELS)
    assert screen.rendered == [(READER, panel) for panel in PANELS]


async def test_what_happened_is_shown_sooner_than_what_was_measured(
    screen: Screen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("display.hub.LEAST_INTERVAL_S", 60.0)
    hub = Hub(screen.render_all, lambda: 0, lambda: screen.seq)
    stream = hub.open(Stream(READER, PANELS))
    await stream.take(2)
    screen.text = "measured"
    hub.changed()
    assert await stream.take(0.2) == []
    screen.seq, screen.text = 2, "happened"
    hub.changed()
    sent = [data["html"] for kind, data in events(await stream.take(10)) if kind == "panel"]
    assert sent == [f"{panel} happened" for panel in PANELS]
    hub.close()


async def test_piece_is_shared_by_all_streams_that_are_sent_it(hub: Hub) -> None:
    streams = [hub.open(Stream(READER, PANELS)) for _ in range(3)]
    first, *others = [await stream.take(2) for stream in streams]
    assert first != []
    assert all(ours is theirs for other in others for ours, theirs in zip(first, other, strict=True))


async def test_unchanged_panel_is_not_sent_again(hub: Hub) -> None:
    stream = hub.open(Stream(READER, PANELS))
    await stream.take(2)
    hub.changed()
    assert [kind for kind, _ in events(await stream.take(2))] == ["clock"]


async def test_slow_stream_keeps_only_the_latest_of_each_panel(hub: Hub, screen: Screen) -> None:
    stream = hub.open(Stream(READER, PANELS))
    for number in range(20):
        screen.text = str(number)
        hub.changed()
        await asyncio.sleep(0.03)
    assert stream.pending() == len(PANELS) + 1  # and the clock
    sent = {data["panel"]: data["html"] for kind, data in events(await stream.take(2)) if kind == "panel"}
    assert sent == {panel: f"{panel} 19" for panel in PANELS}


async def test_rendering_that_fails_is_tried_again_at_the_next_change(hub: Hub, screen: Screen) -> None:
    screen.fails = True
    stream = hub.open(Stream(READER, PANELS))
    assert await stream.take(0.1) == []
    screen.fails = False
    hub.changed()
    assert len(events(await stream.take(2))) == 3


async def test_changes_stream_tells_each_number_once(hub: Hub, screen: Screen) -> None:
    stream = hub.open(Changes(READER))
    at = {"version": 7, "now": "1970-01-01T00:00:00.000+00:00"}
    assert events(await stream.take(2)) == [("change", {"seq": 1, **at})]
    hub.changed()
    assert await stream.take(0.1) == []
    screen.seq = 2
    hub.changed()
    text = text_of(await stream.take(2))
    assert events(text) == [("change", {"seq": 2, **at})]
    assert text.startswith("id: 2\n")


async def test_minute_that_passes_renders_without_a_change(screen: Screen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("display.hub.LEAST_INTERVAL_S", 0.01)
    monkeypatch.setattr("display.hub.BEAT_S", 0.02)
    minute = [0]
    hub = Hub(screen.render_all, lambda: minute[0])
    stream = hub.open(Stream(READER, PANELS))
    await stream.take(2)
    screen.text = "two"
    assert await stream.take(0.1) == []
    minute[0] = 1
    assert len(events(await stream.take(2))) == 3
    hub.close()


async def test_left_stream_is_forgotten_with_its_renderings(hub: Hub, screen: Screen) -> None:
    stream = hub.open(Stream(READER, PANELS))
    await stream.take(2)
    hub.leave(stream)
    rendered = len(screen.rendered)
    hub.changed()
    await asyncio.sleep(0.05)
    assert (len(hub), len(screen.rendered)) == (0, rendered)


# -- as an ASGI application


class Browser:
    """One ASGI connection: records what it is sent; may leave, or stop taking."""

    def __init__(self, query: str, takes: str = "") -> None:
        self.scope = {"type": "http", "path": "/streams", "method": "GET", "query_string": query.encode()}
        self.scope["headers"] = [(b"accept-encoding", takes.encode())] if takes else []
        self.sent: list[Message] = []
        self.left = asyncio.Event()
        self.takes = asyncio.Event()
        self.takes.set()

    async def receive(self) -> Message:
        await self.left.wait()
        return {"type": "http.disconnect"}

    async def send(self, message: Message) -> None:
        await self.takes.wait()
        self.sent.append(message)

    @property
    def body(self) -> str:
        return b"".join(m.get("body", b"") for m in self.sent).decode()

    @property
    def status(self) -> int:
        return int(self.sent[0]["status"])


@pytest.fixture(autouse=True)
def _any_panel(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(panels, "known", lambda key: key.startswith("station-"))


async def test_streams_end_when_the_browser_leaves(hub: Hub) -> None:
    browser = Browser("panels=station-hand:stove")
    following = asyncio.create_task(Streams(hub)(browser.scope, browser.receive, browser.send))
    await asyncio.sleep(0.1)
    assert browser.body.startswith("retry: 2000\n\nevent: clock\n")
    browser.left.set()
    await asyncio.wait_for(following, 2)
    assert len(hub) == 0


async def test_stream_goes_as_one_gzip_member_to_who_takes_it(hub: Hub, screen: Screen) -> None:
    browser = Browser("panels=station-hand:stove", "gzip, deflate, br, zstd")
    following = asyncio.create_task(Streams(hub)(browser.scope, browser.receive, browser.send))
    shown = zlib.decompressobj(zlib.MAX_WBITS | 16)  # as a browser does: what has come can be read at once
    text = ""
    for wanted in ("one", "two" * 10_000, "three"):
        screen.text = wanted
        hub.changed()
        for _ in range(200):
            text += shown.decompress(b"".join(m.get("body", b"") for m in browser.sent)).decode()
            browser.sent = [m for m in browser.sent if "headers" in m]
            if f'stove {wanted}"' in text:
                break
            await asyncio.sleep(0.02)
        assert f'stove {wanted}"' in text
    assert (b"content-encoding", b"gzip") in browser.sent[0]["headers"]
    hub.close()
    await asyncio.wait_for(following, 2)
    shown.decompress(b"".join(m.get("body", b"") for m in browser.sent))
    assert shown.eof  # zlib has compared checksum and length by then


@pytest.mark.parametrize(
    ("asked", "takes"),
    [
        ("gzip", True),
        ("br, GZIP;q=0.5", True),
        ("gzip;q=1.0, *;q=0", True),
        ("", False),
        ("br", False),
        ("gzip;q=0", False),
        ("gzip; q=0.000, br", False),
        ("x-gzip", False),
    ],
)
def test_gzip_is_sent_only_to_who_asks_for_it(asked: str, takes: bool) -> None:
    """Source: RFC 9110, 12.5.3 (Accept-Encoding) and 12.4.2 (weights; 0 means not acceptable)."""
    assert _takes_gzip({"headers": [(b"accept-encoding", asked.encode())]}) == takes


async def test_streams_beat_while_nothing_changes(hub: Hub) -> None:
    browser = Browser("panels=station-hand:stove")
    following = asyncio.create_task(Streams(hub, heartbeat_s=0.02)(browser.scope, browser.receive, browser.send))
    for _ in range(200):  # on a busy machine a beat comes late
        if browser.body.count("event: beat\ndata: 1\n\n") >= 2:
            break
        await asyncio.sleep(0.02)
    browser.left.set()
    await asyncio.wait_for(following, 2)
    assert browser.body.count("event: beat\ndata: 1\n\n") >= 2


async def test_streams_cut_a_browser_that_takes_nothing_and_leave_the_others(hub: Hub, screen: Screen) -> None:
    streams = Streams(hub, blocked_s=0.1)
    stuck, good = Browser("panels=station-hand:stove"), Browser("panels=station-hand:stove")
    tasks = [asyncio.create_task(streams(b.scope, b.receive, b.send)) for b in (stuck, good)]
    await asyncio.sleep(0.05)
    stuck.takes.clear()
    screen.text = "two"
    hub.changed()
    await asyncio.wait_for(tasks[0], 2)
    assert len(hub) == 1
    assert "two" in good.body
    good.left.set()
    await tasks[1]


async def test_streams_end_when_the_hub_closes(hub: Hub) -> None:
    browser = Browser("panels=station-hand:stove")
    following = asyncio.create_task(Streams(hub)(browser.scope, browser.receive, browser.send))
    await asyncio.sleep(0.05)
    hub.close()
    await asyncio.wait_for(following, 2)
    assert browser.sent[-1] == {"type": "http.response.body", "body": b""}


@pytest.mark.parametrize(
    "query", ["", "panels=", "panels=nonsense", "panels=" + ",".join(f"station-x:{i}" for i in range(MOST_PANELS + 1))]
)
async def test_streams_refuse_panels_that_cannot_be(hub: Hub, query: str) -> None:
    browser = Browser(query)
    await Streams(hub)(browser.scope, browser.receive, browser.send)
    assert (browser.status, len(hub)) == (400, 0)
