"""Two hundred screens at a kitchen that lives through a week: streams of the real hub, each read by a listener."""

import asyncio
import json
from dataclasses import dataclass, field
from typing import Any, Final

from display.app import Display
from display.hub import Stream
from display.reader import Reader

SHOWN: Final = (
    ("station-hand:stove", "station-sill:stove"),
    ("station-hand:counter", "station-sill:counter"),
    ("board", "board-needs", "board-list"),
    ("alarms", "alarm-history"),
)
"""What screens of four kinds show: two stations, the board, the alarms."""
_READERS: Final = (Reader(), Reader.of("es", "cook", "12", "us"))
_PATIENCE_S: Final = 10.0


@dataclass(slots=True)
class Screen:
    """One listener and what it was sent."""

    stream: Stream
    shows: dict[str, dict[str, Any]] = field(default_factory=dict)
    """The latest of each panel; the clock under an empty name."""
    pieces: int = 0
    most_waiting: int = 0

    async def listen(self) -> None:
        """Until the hub closes."""
        while not self.stream.closed:
            pieces = await self.stream.take(_PATIENCE_S)
            self.most_waiting = max(self.most_waiting, len(pieces))
            self.pieces += len(pieces)
            for piece in pieces:
                told = json.loads(piece.text.partition("data: ")[2])
                self.shows[told.get("panel", "")] = told


def opened(app: Display, loop: asyncio.AbstractEventLoop, count: int) -> "Screens":
    """So many screens, each with its listener in the house's own loop. Call it from another thread."""

    async def open_all() -> Screens:
        made = Screens()
        for number in range(count):
            reader = _READERS[number // len(SHOWN) % len(_READERS)]
            made.all.append(Screen(app.hub.open(Stream(reader, SHOWN[number % len(SHOWN)]))))
            made.listening.append(asyncio.create_task(made.all[-1].listen()))
        return made

    return asyncio.run_coroutine_threadsafe(open_all(), loop).result(60)


def closed(app: Display, loop: asyncio.AbstractEventLoop, screens: "Screens") -> None:
    """End all streams."""

    async def close_all() -> None:
        app.close()
        await asyncio.wait(screens.listening, timeout=20)

    asyncio.run_coroutine_threadsafe(close_all(), loop).result(60)


@dataclass(slots=True)
class Screens:
    """All of them."""

    all: list[Screen] = field(default_factory=list)
    listening: list[asyncio.Task[None]] = field(default_factory=list)

    def differing(self) -> list[str]:
        """Panels that screens of one kind show differently; empty when everybody sees the same."""
        seen: dict[tuple[Reader, str], object] = {}
        found = []
        for screen in self.all:
            assert screen.shows.keys() == {"", *screen.stream.panels}, "a panel never came"
            for name in screen.stream.panels:
                if seen.setdefault((screen.stream.reader, name), screen.shows[name]) != screen.shows[name]:
                    found.append(name)
        return found

    def behind(self, seq: int) -> int:
        """How many screens have not been told of the latest event."""
        return sum(screen.shows.get("", {}).get("seq") != seq for screen in self.all)

    def crowded(self) -> int:
        """How many had more waiting than their panels and the clock."""
        return sum(screen.most_waiting > len(screen.stream.panels) + 1 for screen in self.all)
