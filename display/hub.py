"""Live panels: rendered once per change and kind of reader, sent to all streams that show them.

Rendering, and writing down and compressing what is new, run in one thread; all else in the event loop. A stream holds
at most one pending message a panel (the latest), so a slow browser costs bounded memory.
"""

import asyncio
import contextlib
import logging
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

from display.pieces import Piece, message
from display.reader import Reader

log = logging.getLogger(__name__)

Wanted = tuple[Reader, str]
RenderAll = Callable[[Iterable[Wanted]], tuple[Mapping[Wanted, str], dict[str, object]]]
"""Renders panels from one snapshot, in the render thread; the second part is the clock message."""

LEAST_INTERVAL_S = 0.25
"""At most four renderings a second, however fast readings come."""
SHORTEST_S = 0.04
"""Something that happened, such as a tap, is rendered sooner, but no sooner than that after the rendering before; and
rendering takes a third of its thread at most."""
BEAT_S = 1.0
"""How often the kitchen's minute is looked at when nothing changes: words such as 'late' depend on it."""


class Stream:
    """One browser's subscription."""

    def __init__(self, reader: Reader, panels: tuple[str, ...]) -> None:
        self.reader = reader
        self.panels = panels
        self.known: set[str] = set()
        self._dirty: dict[str, Piece] = {}
        self._filled = asyncio.Event()
        self.closed = False

    def put(self, key: str, piece: Piece) -> None:
        """Keep as the latest of its key; what was pending under it is forgotten."""
        self._dirty[key] = piece
        self._filled.set()

    def pulse(self, clock: Mapping[str, object], told: Piece) -> None:
        """The kitchen's clock, and how far its log has come; ``told`` says it as screens are told."""
        self.put("", told)

    def pending(self) -> int:
        """How many messages wait; never more than the panels and the clock."""
        return len(self._dirty)

    def close(self) -> None:
        """End the subscription; `take` returns what is left."""
        self.closed = True
        self._filled.set()

    async def take(self, timeout_s: float) -> list[Piece]:
        """All that waits; nothing when nothing came in time."""
        try:
            await asyncio.wait_for(self._filled.wait(), timeout_s)
        except TimeoutError:
            return []
        self._filled.clear()
        pieces = list(self._dirty.values())
        self._dirty.clear()
        return pieces


class Changes(Stream):
    """For programs: no panels, but the number of the latest event whenever it has grown, as the message's id too."""

    def __init__(self, reader: Reader) -> None:
        super().__init__(reader, ())
        self._seq: object = None

    def pulse(self, clock: Mapping[str, object], told: Piece) -> None:
        """Only what programs ask for."""
        if clock.get("seq") != self._seq:
            self._seq = clock.get("seq")
            at = datetime.fromtimestamp(float(str(clock.get("now", 0))) / 1000.0, UTC)
            data = {"version": clock.get("version"), "seq": self._seq, "now": at.isoformat(timespec="milliseconds")}
            self.put("", message("change", data, number=self._seq))


class Hub:
    """Knows all streams; renders for them in one thread."""

    def __init__(
        self, render_all: RenderAll, minute: Callable[[], object], happened: Callable[[], object] = lambda: None
    ) -> None:
        """Args:
        render_all: Called in the render thread.
        minute: Something that differs when the kitchen's minute does; must not block.
        happened: Something that differs when more has happened, not merely been measured; must not block.
        """
        self._render_all = render_all
        self._minute = minute
        self._happened = happened
        self._streams: set[Stream] = set()
        self._last: dict[Wanted, Piece] = {}
        self._changed = asyncio.Event()
        self._nudged = asyncio.Event()
        self._news = True
        """Something is different; else only streams were opened, and what others show already is not rendered anew."""
        self._opened = False
        self._thread: ThreadPoolExecutor | None = None
        self._task: asyncio.Task[None] | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closed = False

    def __len__(self) -> int:
        """How many streams are open."""
        return len(self._streams)

    def start(self) -> None:
        """Begin to render; call it in the loop. Harmless when begun already."""
        if self._task is None and not self._closed:
            self._loop = asyncio.get_running_loop()
            self._thread = ThreadPoolExecutor(1, thread_name_prefix="render")
            self._task = self._loop.create_task(self._run(), name="render panels")

    def changed(self) -> None:
        """Something is different; may be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._nudge)

    def _nudge(self) -> None:
        self._news = True
        self._changed.set()
        self._nudged.set()

    def open(self, stream: Stream) -> Stream:
        """Take up a subscription; its present state comes first."""
        self.start()
        if self._closed:
            stream.close()
            return stream
        self._streams.add(stream)
        self._opened = True
        self._changed.set()
        self._nudged.set()
        return stream

    def leave(self, stream: Stream) -> None:
        """Forget a subscription, and renderings that nobody shows any more."""
        self._streams.discard(stream)
        wanted = self._wanted()
        self._last = {key: piece for key, piece in self._last.items() if key in wanted}

    def close(self) -> None:
        """End all streams and the render thread; call it in the loop, before the server stops."""
        self._closed = True
        for stream in tuple(self._streams):
            stream.close()
        if self._task is not None:
            self._task.cancel()
        if self._thread is not None:
            self._thread.shutdown(wait=False, cancel_futures=True)

    def close_soon(self) -> None:
        """The same, from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.close)

    def _wanted(self) -> set[Wanted]:
        return {(stream.reader, panel) for stream in self._streams for panel in stream.panels}

    async def _run(self) -> None:
        loop = asyncio.get_running_loop()
        while True:
            await self._wait_for_reason()
            wanted = self._wanted() if self._news else self._wanted() - self._last.keys()
            self._news = self._opened = False
            self._changed.clear()
            shown, began = self._happened(), loop.time()
            try:
                work = loop.run_in_executor(self._thread, self._render, wanted, self._last)
                rendered, clock = await work
            except Exception:
                self._news = True
                log.exception("panels could not be rendered")
            else:
                self._publish(rendered, clock)
            await self._rest(shown, loop.time() - began)

    def _render(
        self, wanted: Iterable[Wanted], last: Mapping[Wanted, Piece]
    ) -> tuple[dict[Wanted, Piece], dict[str, object]]:
        """In the render thread: what is not new keeps its piece; what is, is compressed here, not in the loop."""
        rendered, clock = self._render_all(wanted)
        pieces: dict[Wanted, Piece] = {}
        for (reader, panel), html in rendered.items():
            known = last.get((reader, panel))
            if known is None or known.html != html:
                known = message("panel", {"panel": panel, "html": html}, html=html)
                _ = known.packed
            pieces[reader, panel] = known
        return pieces, clock

    async def _rest(self, shown: object, took_s: float) -> None:
        """Before the next rendering: a quarter of a second, or less when something has happened or a screen opens."""
        loop = asyncio.get_running_loop()
        until = loop.time() + LEAST_INTERVAL_S
        await asyncio.sleep(min(max(SHORTEST_S, 2 * took_s), LEAST_INTERVAL_S))
        while not self._opened and self._happened() == shown and (left := until - loop.time()) > 0:
            self._nudged.clear()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._nudged.wait(), left)

    async def _wait_for_reason(self) -> None:
        minute = self._minute()
        while not (self._changed.is_set() and self._streams):
            try:
                await asyncio.wait_for(self._changed.wait(), BEAT_S)
            except TimeoutError:
                if self._streams and self._minute() != minute:
                    self._news = True
                    return
            else:
                if not self._streams:
                    self._changed.clear()

    def _publish(self, rendered: Mapping[Wanted, Piece], clock: dict[str, object]) -> None:
        fresh = {wanted for wanted, piece in rendered.items() if self._last.get(wanted) is not piece}
        self._last = {**self._last, **rendered}
        told = message("clock", clock)
        for stream in self._streams:
            stream.pulse(clock, told)
            for panel in stream.panels:
                piece = self._last.get((stream.reader, panel))
                if piece is not None and ((stream.reader, panel) in fresh or panel not in stream.known):
                    stream.known.add(panel)
                    stream.put(panel, piece)
