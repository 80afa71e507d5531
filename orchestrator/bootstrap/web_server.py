"""uvicorn on our own loop: it serves until told to stop, and leaves signals to us."""

import asyncio
import contextlib
import socket
from collections.abc import Awaitable, Callable, Iterator
from typing import Any

import uvicorn

from orchestrator.bootstrap.settings import Failure

ASGIApp = Callable[[Any, Any, Any], Awaitable[None]]
_GRACE_S = 2
"""Answers under way when we stop get so long."""


class _Server(uvicorn.Server):
    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Signals are the service's: it closes the streams first."""
        yield


class WebServer:
    """Serves an ASGI application on the running loop."""

    def __init__(self, app: ASGIApp, host: str, port: int) -> None:
        """Bind at once, so that a taken port is known before anything else starts.

        Raises:
            Failure: the port is taken, or the address is not ours.
        """
        self._app = app
        self._socket = _bound(host, port)
        self.host, self.port = host, int(self._socket.getsockname()[1])
        config = uvicorn.Config(
            app,
            log_config=None,
            access_log=False,
            server_header=False,  # which server answers, and of which kind, is nobody's business
            timeout_graceful_shutdown=_GRACE_S,
            lifespan="on",
            ws="none",
        )
        self._server = _Server(config)
        self._task: asyncio.Task[None] | None = None

    @property
    def url(self) -> str:
        """Where to look."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{host}:{self.port}"

    async def start(self) -> None:
        """Serve; returns when requests are answered."""
        self._task = asyncio.create_task(self._server.serve(sockets=[self._socket]), name="web server")
        while not self._server.started:
            if self._task.done():
                self._task.result()
                raise Failure("the web server did not start")
            await asyncio.sleep(0.01)

    async def stop(self) -> None:
        """Close the streams, then the server; answers under way are finished."""
        if self._task is None:
            self._socket.close()
            return
        close = getattr(self._app, "close", None)
        if close is not None:
            close()
        self._server.should_exit = True
        await self._task
        self._socket.close()


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen(256)
    except OSError as error:
        listener.close()
        raise Failure(f"{host}:{port} cannot be listened on ({error.strerror}): choose another port, or 0") from error
    listener.setblocking(False)
    return listener
