"""The bench of screens measures what it says; how long it takes is no matter of a test."""

import asyncio
import zlib

from tests.benchmarks.screen_clients import PAGES, SHARES, Screen, screens
from tests.benchmarks.screens import SHOWING, both, measurements, tables


def test_screen_notes_when_it_was_told_of_an_event_and_first_showed_what_is_looked_for() -> None:
    screen = Screen("stove", "")
    screen.take(b'event: clock\ndata: {"version": 9, "seq": 41}\n\n', 1.0)
    screen.look_for(b'\\">58.1', b'\\">58,1')
    screen.take(b'data: {"panel": "a", "html": "<b class=\\"figure\\">58,1<small>"}\n\ndata: {"seq": 43}\n\n', 2.0)
    screen.take(b'data: {"html": "<b class=\\"figure\\">58.1<small>"}\n\n', 3.0)
    assert screen.showed == 2.0
    assert [screen.told_of(seq) for seq in (41, 42, 43, 44)] == [1.0, 2.0, 2.0, None]
    screen.look_for(b"58.2")
    assert screen.showed is None


async def _serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    """A stream in two gzipped chunks, the second split within its data."""
    asked = await reader.readuntil(b"\r\n\r\n")
    assert b"GET /streams?panels=" in asked
    assert b"Accept-Encoding: gzip" in asked
    writer.write(b"HTTP/1.1 200 OK\r\nContent-Encoding: gzip\r\nTransfer-Encoding: chunked\r\n\r\n")
    packer = zlib.compressobj(wbits=zlib.MAX_WBITS | 16)
    for text in (b'data: {"seq": 1}\n\n', b'data: {"seq": 2}\n\n'):
        chunk = packer.compress(text) + packer.flush(zlib.Z_SYNC_FLUSH)
        writer.write(b"%x\r\n" % len(chunk))
        for part in (chunk[:5], chunk[5:], b"\r\n"):
            writer.write(part)
            await writer.drain()
            await asyncio.sleep(0.01)
    writer.close()


async def test_screen_reads_a_stream_as_a_browser_does() -> None:
    server = await asyncio.start_server(_serve, "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]
    (screen,) = screens(1)
    await screen.open(f"http://127.0.0.1:{port}")
    for _ in range(200):
        if screen.told_of(2) is not None:
            break
        await asyncio.sleep(0.01)
    assert [seq for _, seq in screen.told] == [1, 2]
    assert screen.taken > 20
    await screen.close()
    server.close()
    await server.wait_closed()


def test_ten_screens_are_those_of_a_kitchen_and_those_that_show_the_probe_are_no_boards() -> None:
    assert sorted({s.page for s in screens(len(SHARES))}) == ["board", "probes", "stove"]
    assert sorted({s.page for s in screens(50, SHOWING)}) == ["probes", "stove"]
    assert {PAGES[page][0] for page in set(SHARES) - set(SHOWING)} == {"board"}
    assert len({s.query for s in screens(50)}) == len(PAGES)


def test_tables_give_ratios_to_the_bare_broker_and_costs_a_screen() -> None:
    assert both([1.0, 2.0, 3.0, 400.0]) == {"p50": 2.5, "p99": 400.0}
    plain = {"p50": 2.0, "p99": 4.0}
    latency = dict.fromkeys(("bare", "bare one", "answer", "reading"), plain)
    found = {
        "a": {"kind": "latency", "times": 3, **latency, "tap": {"p50": 20.0, "p99": 60.0}},
        "b": {
            "kind": "open",
            "count": 50,
            "without": {"cpu_percent": 1.0, "mb": 100.0, "kb_per_s": 0.0},
            "with": {"cpu_percent": 11.0, "mb": 110.0, "kb_per_s": 50.0},
        },
    }
    told = tables(found)
    (line,) = [line for line in told.splitlines() if line.startswith("| tap: on 50")]
    assert [cell.strip() for cell in line.split("|")[2:6]] == ["20", "60", "10", "15"]
    (line,) = [line for line in told.splitlines() if line.startswith("| 50 ")]
    assert [cell.strip() for cell in line.split("|")[2:9]] == ["11", "1.000", "0.200", "110", "100", "205", "50"]


def test_measurements_are_one_of_latency_and_three_of_open_screens() -> None:
    assert [m.key for m in measurements(full=False)] == [
        "latency, 30 each",
        *(f"{count} open, 10 s" for count in (1, 50, 200)),
    ]
