"""Live panels: rendered once per change and kind of reader, sent to all streams that show them.

Everything here but `render_all` runs in the event loop. A stream holds at most one pending message a
panel (the latest), so a slow browser costs bounded memory.
"""

import asyncio
import json
import logging
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

from display.reader import Reader

log = logging.getLogger(__name__)

Wanted = tuple[Reader, str]
RenderAll = Callable[[Iterable[Wanted]], tuple[Mapping[Wanted, str], dict[str, object]]]
"""Renders panels from one snapshot, in the render thread; the second part is the clock message."""

LEAST_INTERVAL_S = 0.25
"""At most four renderings a second, however fast things change."""
BEAT_S = 1.0
"""How often the kitchen's minute is looked at when nothing changes: words such as 'late' depend on it."""


class Stream:
    """One browser's subscription."""

    def __init__(self, reader: Reader, panels: tuple[str, ...]) -> None:
        self.reader = reader
        self.panels = panels
        self.known: set[str] = set()
        self._dirty: dict[str, str] = {}
        self._filled = asyncio.Event()
        self.closed = False

    def put(self, kind: str, key: str, data: Mapping[str, object], number: object = None) -> None:
        """Keep as the latest of its key; what was pending under it is forgotten."""
        numbered = "" if number is None else f"id: {number}\n"
        self._dirty[key] = f"{numbered}event: {kind}\ndata: {json.dumps(data)}\n\n"
        self._filled.set()

    def pulse(self, clock: Mapping[str, object]) -> None:
        """The kitchen's clock, and how far its log has come."""
        self.put("clock", "", clock)

    def pending(self) -> int:
        """How many messages wait; never more than the panels and the clock."""
        return len(self._dirty)

    def close(self) -> None:
        """End the subscription; `take` returns what is left."""
        self.closed = True
        self._filled.set()

    async def take(self, timeout_s: float) -> str:
        """All that waits, as one text; empty when nothing came in time."""
        try:
            await asyncio.wait_for(self._filled.wait(), timeout_s)
        except TimeoutError:
            return ""
        self._filled.clear()
        text = "".join(self._dirty.values())
        self._dirty.clear()
        return text


class Changes(Stream):
    """For programs: no panels, but the number of the latest event whenever it has grown, as the message's id too."""

    def __init__(self, reader: Reader) -> None:
        super().__init__(reader, ())
        self._seq: object = None

    def pulse(self, clock: Mapping[str, object]) -> None:
        """Only what programs ask for."""
        if clock.get("seq") != self._seq:
            self._seq = clock.get("seq")
            at = datetime.fromtimestamp(float(str(clock.get("now", 0))) / 1000.0, UTC)
            data = {"version": clock.get("version"), "seq": self._seq, "now": at.isoformat(timespec="milliseconds")}
            self.put("change", "", data, number=self._seq)


class Hub:
    """Knows all streams; renders for them in one thread."""

    def __init__(self, render_all: RenderAll, minute: Callable[[], object]) -> None:
        """Args:
        render_all: Called in the render thread.
        minute: Something that differs when the kitchen's minute does; must not block.
        """
        self._render_all = render_all
        self._minute = minute
        self._streams: set[Stream] = set()
        self._last: dict[Wanted, str] = {}
        self._changed = asyncio.Event()
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
            self._loop.call_soon_threadsafe(self._changed.set)

    def open(self, stream: Stream) -> Stream:
        """Take up a subscription; its present state comes first."""
        self.start()
        if self._closed:
            stream.close()
            return stream
        self._streams.add(stream)
        self._changed.set()
        return stream

    def leave(self, stream: Stream) -> None:
        """Forget a subscription, and renderings that nobody shows any more."""
        self._streams.discard(stream)
        wanted = self._wanted()
        self._last = {key: html for key, html in self._last.items() if key in wanted}

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
            self._changed.clear()
            wanted = self._wanted()
            try:
                rendered, clock = await loop.run_in_executor(self._thread, self._render_all, wanted)
            except Exception:
                log.exception("panels could not be rendered")
            else:
                self._publish(rendered, clock)
            await asyncio.sleep(LEAST_INTERVAL_S)

    async def _wait_for_reason(self) -> None:
        minute = self._minute()
        while not (self._changed.is_set() and self._streams):
            try:
                await asyncio.wait_for(self._changed.wait(), BEAT_S)
            except TimeoutError:
                if self._streams and self._minute() != minute:
                    return
            else:
                if not self._streams:
                    self._changed.clear()

    def _publish(self, rendered: Mapping[Wanted, str], clock: dict[str, object]) -> None:
        fresh = {wanted for wanted, html in rendered.items() if self._last.get(wanted) != html}
        self._last.update(rendered)
        for stream in self._streams:
            stream.pulse(clock)
            for panel in stream.panels:
                wanted = (stream.reader, panel)
                if wanted in rendered and (wanted in fresh or panel not in stream.known):
                    stream.known.add(panel)
                    stream.put("panel", panel, {"panel": panel, "html": rendered[wanted]})
