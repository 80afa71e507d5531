"""The event streams as a small ASGI application: a page names its panels and is kept live."""

import asyncio
import re
import time
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final
from urllib.parse import parse_qs

from display import panels
from display.hub import Changes, Hub, Stream
from display.pieces import Packed, Piece, Plain
from display.reader import Reader

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

HEARTBEAT_S: Final = 15.0
BLOCKED_S: Final = 20.0
"""A browser that takes nothing for this long is cut off."""
MOST_PANELS: Final = 100
"""All pages of a browser share one stream (`static/js/shared.js`): about fifteen of them find room."""
MOST_STREAMS: Final = 400
LOOKED_AT_EVERY_S: Final = 10.0
"""So often it is asked anew whether a stream's screen may still be here."""

TurnedAway = Callable[[Scope], Awaitable[tuple[int, str]]]


async def answer(send: Send, status: int, body: bytes, content_type: str = "text/plain; charset=utf-8") -> None:
    """A whole, short answer."""
    headers = [(b"content-type", content_type.encode()), (b"content-length", str(len(body)).encode())]
    headers += [(b"cache-control", b"no-store"), (b"x-content-type-options", b"nosniff")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


class Streams:
    """Answers ``GET /streams?panels=KEY,KEY&language=en&role=cook&clock=24&amounts=metric``."""

    def __init__(
        self,
        hub: Hub,
        *,
        turned_away: TurnedAway | None = None,
        heartbeat_s: float = HEARTBEAT_S,
        blocked_s: float = BLOCKED_S,
    ) -> None:
        """Args:
        hub: Renders and hands out.
        turned_away: Why a request is not answered, as a status and a sentence, status 0 if it is; left out, all are.
        heartbeat_s: How long a stream may be silent.
        blocked_s: How long a browser may take nothing.
        """
        self._hub = hub
        self._turned_away = turned_away or _nobody
        self._heartbeat_s = heartbeat_s
        self._blocked_s = blocked_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send until the browser leaves, stops taking, or the hub closes."""
        query = {key: values[-1] for key, values in parse_qs(scope["query_string"].decode("latin-1")).items()}
        keys = tuple(dict.fromkeys(key for key in query.get("panels", "").split(",") if key))
        unknown = [key for key in keys if not panels.known(key)]
        if not keys or unknown or len(keys) > MOST_PANELS:
            says = f"Unknown panels: {', '.join(unknown)}" if unknown else f"Name 1 to {MOST_PANELS} panels."
            await answer(send, 400, says.encode())
            return
        reader = Reader.of(*(query.get(name, "") for name in ("language", "role", "clock", "amounts")))
        await self._follow(Stream(reader, keys), scope, receive, send)

    async def changes(self, scope: Scope, receive: Receive, send: Send) -> None:
        """``/api/v1/changes``: the number of the latest event, whenever it has grown."""
        await self._follow(Changes(Reader()), scope, receive, send)

    async def _follow(self, stream: Stream, scope: Scope, receive: Receive, send: Send) -> None:
        status, says = await self._turned_away(scope)
        if status:
            await answer(send, status, says.encode())
            return
        if len(self._hub) >= MOST_STREAMS:
            await answer(send, 503, f"More than {MOST_STREAMS} screens are open: close some.".encode())
            return
        self._hub.open(stream)
        gone = asyncio.create_task(_until_gone(receive))
        try:
            gone.add_done_callback(lambda _: stream.close())
            await self._send_all(stream, scope, send)
        except TimeoutError:
            pass  # cut: returning without the last chunk closes the connection
        finally:
            gone.cancel()
            self._hub.leave(stream)

    async def _send_all(self, stream: Stream, scope: Scope, send: Send) -> None:
        written = Packed() if stream.panels and _takes_gzip(scope) else Plain()
        headers = [(b"content-type", b"text/event-stream"), (b"cache-control", b"no-store")]
        if written.encoding:
            headers += [(b"content-encoding", written.encoding), (b"vary", b"accept-encoding")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        # Scripts of a page hear events only, no comments: by them they find out that a link has died without a word.
        beat = _BEAT if stream.panels else _COMMENT
        pieces = [_RETRY]
        looked_at = time.monotonic()
        while not stream.closed:
            if time.monotonic() - looked_at > LOOKED_AT_EVERY_S:
                looked_at = time.monotonic()
                if (await self._turned_away(scope))[0] in (401, 403):  # revoked meanwhile
                    break
            if pieces:
                message = {"type": "http.response.body", "body": written.write(pieces), "more_body": True}
                await asyncio.wait_for(send(message), self._blocked_s)
            pieces = await stream.take(self._heartbeat_s) or [beat]
        await asyncio.wait_for(send({"type": "http.response.body", "body": written.end()}), self._blocked_s)


_RETRY, _BEAT, _COMMENT = Piece("retry: 2000\n\n"), Piece("event: beat\ndata: 1\n\n"), Piece(": beat\n\n")


def _takes_gzip(scope: Scope) -> bool:
    """Whether the client asks for it. Source: RFC 9110, 12.5.3; a weight of 0 means never."""
    asked = b",".join(value for name, value in scope.get("headers", ()) if name == b"accept-encoding")
    return re.search(rb"(?:^|,)\s*gzip\s*(?:,|$|;\s*q=(?!0(?:\.0*)?\s*(?:,|$)))", asked.lower()) is not None


async def _nobody(_: Scope) -> tuple[int, str]:
    return 0, ""


async def _until_gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
