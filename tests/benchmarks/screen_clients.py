"""Screens that a bench opens: each a connection of its own that reads an event stream as a browser does."""

import asyncio
import re
import time
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, Self
from urllib.parse import urlencode, urlsplit

SEQ: Final = re.compile(rb'"seq": ?(\d+)')
STOVE: Final = ("station-sill:stove", "station-hand:stove", "tonight", "station-horizon:stove", "crew-here")
PAGES: Final = (
    ("stove", STOVE, "en", "cook"),
    ("stove", STOVE, "es", "cook"),
    ("probes", ("probes", "rejected"), "en", "cook"),
    ("board", ("board-needs", "tonight", "board", "board-list"), "en", "manager"),
)
SHARES: Final = (0, 0, 0, 0, 0, 0, 1, 1, 2, 3)
"""Of ten screens of a kitchen, which page each shows: six stoves, two of them in Spanish as well, probes, the board."""


@dataclass(slots=True)
class Screen:
    """One open stream: when it was told of which event, and when it first showed what is looked for."""

    page: str
    query: str
    told: list[tuple[float, int]] = field(default_factory=list)
    """Instants of `time.perf_counter` with the number of the latest event then shown."""
    showed: float | None = None
    taken: int = 0
    """Bytes that came, as they went over the wire."""
    _looked_for: tuple[bytes, ...] = ()
    _task: "asyncio.Task[None] | None" = None
    _writer: asyncio.StreamWriter | None = None

    async def open(self, url: str) -> Self:
        """Connect; returns once the present state has come."""
        parts = urlsplit(url)
        reader, self._writer = await asyncio.open_connection(parts.hostname, parts.port, limit=2**22)
        asks = f"Host: {parts.netloc}\r\nAccept: text/event-stream\r\nAccept-Encoding: gzip\r\n"
        self._writer.write(f"GET /streams?{self.query} HTTP/1.1\r\n{asks}\r\n".encode())
        status = await reader.readline()
        if b" 200 " not in status:
            raise ConnectionError(f"the stream of {self.page} answers {status!r}")
        packed = b"content-encoding: gzip" in (await reader.readuntil(b"\r\n\r\n")).lower()
        unpack = zlib.decompressobj(zlib.MAX_WBITS | 16).decompress if packed else bytes
        self._task = asyncio.create_task(self._follow(reader, unpack))
        while not self.told:
            await asyncio.sleep(0.01)
            if self._task.done():
                self._task.result()
                raise ConnectionError(f"the stream of {self.page} ended at once")
        return self

    def look_for(self, *texts: bytes) -> None:
        """From now on, note when one of them is shown."""
        self._looked_for, self.showed = texts, None

    def told_of(self, seq: int) -> float | None:
        """When it first showed a state with that event."""
        return next((at for at, shown in self.told if shown >= seq), None)

    async def _follow(self, reader: asyncio.StreamReader, unpack: Callable[[bytes], bytes]) -> None:
        """Chunk by chunk (RFC 9112, 7.1), whose data go to `take`."""
        while size := int((await reader.readline()).split(b";")[0] or b"0", 16):
            data = await reader.readexactly(size + 2)
            self.taken += size
            self.take(unpack(data[:-2]), time.perf_counter())

    def take(self, text: bytes, at: float) -> None:
        """What a screen makes of a piece of its stream."""
        if found := SEQ.findall(text):
            self.told.append((at, int(found[-1])))
        if self.showed is None and any(wanted in text for wanted in self._looked_for):
            self.showed = at

    async def close(self) -> None:
        """Leave, as a browser does."""
        if self._task is not None:
            self._task.cancel()
        if self._writer is not None:
            self._writer.close()


def screens(count: int, pages: tuple[int, ...] = SHARES) -> list[Screen]:
    """So many, not yet open, of the given pages in turn."""
    made = []
    for number in range(count):
        name, panels, language, role = PAGES[pages[number % len(pages)]]
        asked = {"panels": ",".join(panels), "language": language, "role": role, "clock": "24", "amounts": "metric"}
        made.append(Screen(name, urlencode(asked)))
    return made
